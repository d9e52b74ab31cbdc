"""Enters the order that a program posted: reads it, says everything that is wrong at once, and lets `intake` write."""

from django.db import transaction
from django.utils import timezone

from calc import spec
from orders import api_keys, calendar, entry, intake, promise
from orders.models import Customer, Order
from orders.questions import unanswered
from production import codes, promising

from . import reading, telling
from .gate import Answer, as_json
from .lines import Shelf, readable_lines, refusals, warned
from .problems import Problem, error
from .words import KnownCustomer, NewOrder, repeated

SLIPS = "a likely slip, and maybe none: common practice, no source"
IDEMPOTENCY_KEY = "Idempotency-Key"
LONGEST_KEY = 64


def post_order(request, key):
    """One order, entered as a draft or confirmed; the same one again under its idempotency key is answered again."""
    under = _idempotency_key(request)
    given = reading.json_of(request)
    at = timezone.now()
    try:
        posted, again = api_keys.once(
            key=key, idempotency_key=under, body=given, write=lambda: _enter(given, key=key, at=at), at=at
        )
    except api_keys.Reused as reused:
        detail = (
            f"{IDEMPOTENCY_KEY} {under} was used for {reused.posted.order}, which said something else. "
            "Send this order under a key of its own."
        )
        raise Problem("reused", detail) from None
    headers = {"Location": f"/api/v1/orders/{posted.order.number}", "Idempotent-Replay": str(again).lower()}
    return Answer(posted.answer, headers=headers)


def _idempotency_key(request):
    found = request.headers.get(IDEMPOTENCY_KEY, "")
    if not (0 < len(found) <= LONGEST_KEY and found.isascii() and found.isprintable() and " " not in found):
        raise Problem(
            "unreadable",
            f"The header {IDEMPOTENCY_KEY} is {repeated(found)!r}. Send one of 1 to {LONGEST_KEY} letters, digits and "
            "signs for each order, such as a UUID, and the same one when the same order is sent again.",
        )
    return found


def _enter(given, *, key, at):
    """The order and its answer. Raises Problem with everything that is wrong; then nothing is written."""
    asked, errors = reading.checked(NewOrder, given)
    customer = _customer(asked.customer, key=key) if asked else None
    market = _market(asked, given, customer)
    shelf = Shelf()
    lines, wrong = shelf.lines_of(readable_lines(given))
    figured = shelf.figured(lines, market=market) if market else []
    refused = wrong + (_head_errors(asked, at=at) if asked else [])
    refused += [found for each in figured for found in refusals(*each)]
    if errors or refused:
        both = errors + refused
        raise Problem("invalid" if errors else "refused", reading.summary(both), errors=both)
    made = [line for _, line in lines]
    order, asked_of = _write(asked, customer=customer, market=market, lines=made, key=key, at=at)
    found = Order.objects.with_customer().get(pk=order.pk)
    warnings = [warned(place, found) for place, line in figured for found in line.warnings]
    warnings += [_questioned(each) for each in asked_of]
    answer = {"order": telling.whole_order_said(found), "warnings": warnings}
    return order, as_json(answer)


def _market(asked, given, customer):
    """The market to hold the lines against; None where what was sent doesn't tell."""
    if asked:
        return asked.market or customer.market
    named = given.get("market") if isinstance(given, dict) else None
    return named if named in spec.MARKETS else None


def _customer(asked, *, key):
    """The customer that the order is for; not saved yet where it is a new one. Raises Problem."""
    own = Customer.objects.all() if key.every_customer else key.customers.all()
    if asked is None:
        only = list(own[:2]) if not key.every_customer else []
        if len(only) == 1:
            return only[0]
        raise _wrong_customer(
            "customer is missing. Give its id, or its name with e-mail or phone.", pointer="#/customer"
        )
    if isinstance(asked, KnownCustomer):
        found = own.keyed(asked.id)
        if found is None:
            detail = (
                f"There is no customer {asked.id} that the key {key} may order for. Take the id from an earlier order."
            )
            raise _wrong_customer(detail, pointer="#/customer/id", field="id", value=asked.id)
        return found
    found = own.same_as(name=asked.name, email=asked.email, phone=asked.phone)
    if found is None and not key.every_customer:
        detail = (
            f"The key {key} is for certain customers alone, and {asked.name} is none of them. Give the customer's id."
        )
        raise Problem("not-allowed", detail)
    return found or Customer(**asked.model_dump())


def _wrong_customer(detail, *, pointer, field="customer", value=None):
    wrong = error(detail=detail, pointer=pointer, field=field, value=value, code="customer")
    return Problem("refused", detail, errors=[wrong])


def _head_errors(asked, *, at):
    """A promise can't be made for a day that has gone, and a ticket code numbers so many blinds of an order."""
    today, found = timezone.localdate(at), []
    if asked.due_on and asked.due_on < today:
        detail = f"due_on is {asked.due_on}, which has gone. Give {today} or a later day, or leave it out."
        found.append(_wrong_day(asked.due_on, detail))
    blinds = sum(line.quantity for line in asked.lines)
    if blinds > codes.LARGEST_SERIAL:
        detail = f"The lines add up to {blinds} blinds; an order has {codes.LARGEST_SERIAL} at most. Split the order."
        found.append(error(detail=detail, pointer="#/lines", field="lines", value=blinds, code="too_many_blinds"))
    return found


def _questioned(found):
    said = _question(found, "Correct it, or tell the office that it is right.")
    return {**{name: said[name] for name in ("line", "field", "code", "detail")}, "source": SLIPS}


def _write(asked, *, customer, market, lines, key, at):
    """The order with its lines, and its questions. Raises Problem where what stood a moment ago stands no more."""
    by = key.made_by
    try:
        with transaction.atomic():
            if asked.confirm:
                # Before the order's own rows, as whoever promises takes them.
                calendar.hold()
            head = _head(asked, customer=_saved(customer), market=market, at=at)
            (order,) = intake.open_orders(by=by, at=at, heads=[(head, lines)])
            if asked.sure:
                entry.answer_all(order=order, by=by, at=at)
            asked_of = unanswered(order=order)
            if asked.confirm:
                _confirm(order, asked, asked_of, by=by, at=at)
            return order, asked_of
    except intake.Refused as refused:
        raise _refused([error(detail=problem, code="refused") for problem in refused.problems]) from None


def _saved(customer):
    if customer.pk is not None:
        return customer
    fields = ("name", "contact", "phone", "email", "address", "trade", "market")
    return intake.add_customer(**{name: getattr(customer, name) for name in fields})


def _head(asked, *, customer, market, at):
    given = {name: getattr(asked, name) for name in ("reference", "rush", "note")}
    return {**given, "customer": customer, "market": market, "due_on": asked.due_on or _usual_day(at)}


def _usual_day(at):
    try:
        return promise.usual_day(today=timezone.localdate(at), calendar=calendar.read())
    except calendar.NoWorkingDay as closed:
        raise _refused([_wrong_day(None, f"{closed} Or give due_on.")]) from None


def _confirm(order, asked, asked_of, *, by, at):
    """Confirm `order` for the day wanted; without one for the usual day, or the earliest where that can't be kept."""
    if asked_of:
        raise _refused([_question(each, "Correct it, or send the order with sure: true.") for each in asked_of])
    earliest = promising.quote(order=order, at=at).day
    if earliest is None:
        detail = (
            "The plan has no day for it as far as it looks ahead. Send it without confirm, for the office to look at."
        )
        raise _refused([_wrong_day(asked.due_on, detail)])
    days = [asked.due_on] if asked.due_on else [max(order.due_on, earliest), earliest]
    if not any(_promised(order, day, by=by, at=at) for day in days):
        detail = (
            f"due_on is {asked.due_on}, and the workshop can't keep that without making another order late. The "
            f"earliest day is {earliest}. Give that one or leave due_on out; or send the order without confirm."
        )
        raise _refused([_wrong_day(asked.due_on, detail)])


def _promised(order, day, *, by, at):
    try:
        promising.promise(order=order, day=day, by=by, at=at, confirm=True)
    except promising.NotKept:
        return False
    except intake.Refused as refused:
        # Nothing but the day can stand in the way by now.
        raise _refused([_wrong_day(day, problem) for problem in refused.problems]) from None
    return True


def _question(found, way_out):
    """A question about a likely slip, as an error or a warning; about a line, or the order as a whole."""
    number = found.question.number
    return error(
        detail=f"{found.question.message} {way_out}",
        pointer="#" if number is None else f"#/lines/{number - 1}",
        line=None if number is None else number - 1,
        code=found.question.code,
    )


def _wrong_day(value, detail):
    return error(detail=detail, pointer="#/due_on", field="due_on", value=value and str(value), code="due_on")


def _refused(errors):
    return Problem("refused", reading.summary(errors), errors=errors)
