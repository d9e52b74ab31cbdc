"""Enters the order that a program posted: reads it, says everything that is wrong at once, and lets `intake` write."""

from django.db import transaction
from django.utils import timezone

from calc import spec
from orders import api_keys, calendar, intake, promise
from orders.lines import current_revisions, figured_line, line_field
from orders.models import Customer, Fabric, Order, OrderLine
from production import codes, route

from . import reading, telling
from .gate import Answer, as_json
from .problems import Problem, error
from .words import LINES_AT_MOST, KnownCustomer, Line, NewOrder, repeated

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
    lines, wrong = shelf.lines_of(_readable_lines(given))
    figured = shelf.figured(lines, market=market) if market else []
    refused = wrong + (_head_errors(asked, at=at) if asked else [])
    refused += [found for each in figured for found in _refusals(*each)]
    if errors or refused:
        both = errors + refused
        raise Problem("invalid" if errors else "refused", reading.summary(both), errors=both)
    order = _write(asked, customer=customer, market=market, lines=[line for _, line in lines], key=key, at=at)
    found = Order.objects.with_customer().get(pk=order.pk)
    warnings = [_warned(place, found) for place, line in figured for found in line.warnings]
    answer = {"order": telling.whole_order_said(found), "warnings": warnings}
    return order, as_json(answer)


def _readable_lines(given):
    """The place and Line of each posted line with which nothing is wrong by itself."""
    lines = given.get("lines") if isinstance(given, dict) else None
    found = [reading.checked(Line, line)[0] for line in lines[:LINES_AT_MOST]] if isinstance(lines, list) else []
    return [(place, line) for place, line in enumerate(found) if line]


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


class Shelf:
    """What the catalogue offers now, read once for all lines."""

    def __init__(self):
        self.systems = {revision.system.code: revision for revision in current_revisions().values()}
        self.fabrics = {fabric.code: fabric for fabric in Fabric.objects.offered()}

    def lines_of(self, asked):
        """(place, OrderLine not saved yet) of each (place, Line) whose system and fabric are there, and what is wrong
        with the others."""
        made, wrong = [], []
        for place, line in asked:
            found = [*self._missing(place, "system", line.system, self.systems)]
            found += self._missing(place, "fabric", line.fabric, self.fabrics)
            found += _device_errors(place, line)
            if found:
                wrong += found
            else:
                made.append((place, self._line(line)))
        return made, wrong

    def figured(self, lines, *, market):
        """(place, FiguredLine) of each (place, OrderLine) in `market`."""
        systems = {revision.system_id: revision.as_system() for revision in self.systems.values()}
        return [
            (place, figured_line(line=line, market=market, system=systems[line.system_id])) for place, line in lines
        ]

    def _missing(self, place, field, code, known):
        if code not in known:
            choices = ", ".join(sorted(known)[:12]) or "none yet"
            detail = f"{field} is {repeated(code)!r}, which the catalogue doesn't offer. It offers {choices}. Pick one."
            yield _wrong(place, field, code, "not_in_catalogue", detail)

    def _line(self, asked):
        given = asked.model_dump(exclude={"system", "fabric", "loop_control", "chain", "control_drop_mm", "concerns"})
        looped = asked.operation == "cord_chain"
        return OrderLine(
            **given,
            system=self.systems[asked.system].system,
            fabric=self.fabrics[asked.fabric],
            loop_control=asked.loop_control if looped else "",
            chain=asked.chain if looped else "",
            control_drop_mm=asked.control_drop_mm if looped else None,
            concerns=_concerned(asked) if asked.special_instruction else [],
        )


def _concerned(asked):
    """The stations that must acknowledge the special instruction, in the order of work; all where none is named."""
    return [key for key in route.STATION if key in asked.concerns] or list(route.STATION)


def _device_errors(place, line):
    """A looped blind names its device and its chain; a wand blind has neither."""
    names = ("loop_control", "chain")
    if line.operation == "cord_chain":
        return [
            _wrong(place, name, None, "missing", f"{name} is missing: a blind with cord and chain names it. Give it.")
            for name in names
            if getattr(line, name) is None
        ]
    return [
        _wrong(place, name, value, "not_with_wand", f"{name} is given, and a wand blind has none. Leave it out.")
        for name in (*names, "control_drop_mm")
        if (value := getattr(line, name)) is not None
    ]


def _wrong(place, field, value, code, detail):
    pointer = f"#/lines/{place}/{field}" if field else f"#/lines/{place}"
    return error(detail=detail, pointer=pointer, line=place, field=field, value=repeated(value), code=code)


def _head_errors(asked, *, at):
    """A promise can't be made for a day that has gone, and a ticket code numbers so many blinds of an order."""
    today, found = timezone.localdate(at), []
    if asked.due_on and asked.due_on < today:
        detail = f"due_on is {asked.due_on}, which has gone. Give {today} or a later day, or leave it out."
        found.append(error(detail=detail, pointer="#/due_on", field="due_on", value=str(asked.due_on), code="past"))
    blinds = sum(line.quantity for line in asked.lines)
    if blinds > codes.LARGEST_SERIAL:
        detail = f"The lines add up to {blinds} blinds; an order has {codes.LARGEST_SERIAL} at most. Split the order."
        found.append(error(detail=detail, pointer="#/lines", field="lines", value=blinds, code="too_many_blinds"))
    return found


def _refusals(place, figured):
    line = figured.line
    found = []
    if line.fabric.vane_width_mm != line.vane_width_mm:
        detail = (
            f"{line.fabric} is slit to {line.fabric.vane_width_mm} mm and the vanes are {line.vane_width_mm} mm. "
            "Choose another fabric or vane width."
        )
        found.append(_wrong(place, "fabric", line.fabric.code, "other_vane_width", detail))
    for each in figured.refusals:
        field = line_field(each)
        found.append(_wrong(place, field, figured.spec.get(each["field"]), each["code"], each["message"]))
    return found


def _warned(place, found):
    return {
        "line": place,
        "field": line_field(found),
        "code": found["code"],
        "detail": found["message"],
        "source": found["source"],
    }


def _write(asked, *, customer, market, lines, key, at):
    """The order with its lines. Raises Problem where what stood a moment ago stands no more."""
    try:
        with transaction.atomic():
            if customer.pk is None:
                fields = ("name", "contact", "phone", "email", "address", "trade", "market")
                customer = intake.add_customer(**{name: getattr(customer, name) for name in fields})
            head = {
                "customer": customer,
                "market": market,
                "reference": asked.reference,
                "due_on": asked.due_on or _usual_day(at),
                "rush": asked.rush,
                "note": asked.note,
            }
            (order,) = intake.open_orders(by=key.made_by, at=at, heads=[(head, lines)])
            if asked.confirm:
                intake.confirm(order=order, by=key.made_by, at=at)
            return order
    except intake.Refused as refused:
        errors = [error(detail=problem, code="refused") for problem in refused.problems]
        raise Problem("refused", reading.summary(errors), errors=errors) from None


def _usual_day(at):
    try:
        return promise.usual_day(today=timezone.localdate(at), calendar=calendar.read())
    except calendar.NoWorkingDay as closed:
        wrong = error(detail=f"{closed} Or give due_on.", pointer="#/due_on", field="due_on", code="no_working_day")
        raise Problem("refused", wrong["detail"], errors=[wrong]) from None
