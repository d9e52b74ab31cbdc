"""The only writer of what is asked to be changed once blinds are at work, and of what is decided about it.

Sales ask; the workshop's manager accepts each change or refuses it with a reason. What is asked for and decided stands
in each blind's own log too, so that its sheet, its queues and whoever follows them see it at once.
"""

import uuid
from collections import Counter
from functools import wraps

from django.db import transaction
from django.utils import timezone

from orders import amended, calendar, intake
from orders.models import Order
from orders.wake import wake

from . import amend_plan, codes, log, route
from .models import Amendment, Blind, Stage
from .release import ReleaseRefused, release_line
from .words import listed

TRIES = 8


class Refused(Exception):
    """What was asked for can't be done; `problems` says each reason and the next step. Nothing was written."""

    def __init__(self, *problems):
        super().__init__(" ".join(problems))
        self.problems = list(problems)


def tried_again(write):
    """As a whole or not at all; looked at again where a tablet wrote to one of the blinds meanwhile."""

    @wraps(write)
    def tried(**given):
        for _tried in range(TRIES):
            try:
                with transaction.atomic():
                    return write(**given)
            except log.Crossed:
                continue
            except ReleaseRefused as refused:
                raise Refused(*refused.problems) from refused
        raise Refused(f"Too many tablets are writing to these blinds at once ({TRIES} tries). Try again.")

    return tried


# What sales ask for


@tried_again
def ask_change(*, order, codes_of_blinds, line, because, by, at):
    """Ask that the blinds with these codes, of one line, become as `line` (not saved) says."""
    order = _at_work(order, because)
    blinds = _blinds(order, codes_of_blinds)
    if len({blind.line_id for blind in blinds}) > 1:
        raise Refused("These blinds are of several lines. Ask for each line by itself.")
    revision = amend_plan.revision_for(blinds[0], line)
    if revision is None:
        raise Refused(f"{line.system} has no published revision. Ask a manager to publish one.")
    version, problems = amend_plan.version_of(line, market=order.market, revision=revision)
    if problems:
        raise Refused(*problems)
    if all(blind.frozen == version for blind in blinds):
        raise Refused("Nothing would change: that is how it is being made. Change what the customer wants otherwise.")
    line.quantity = len(blinds)
    return _asked(
        order,
        Amendment.CHANGE,
        blinds,
        line=blinds[0].line,
        asked=amend_plan.asked_of(line),
        because=because,
        by=by,
        at=at,
    )


@tried_again
def ask_line(*, order, line, because, by, at):
    """Ask that the blinds of `line` (not saved) are made as well."""
    order = _at_work(order, because)
    revision = amend_plan.revision_for(None, line)
    if revision is None:
        raise Refused(f"{line.system} has no published revision. Ask a manager to publish one.")
    _, problems = amend_plan.version_of(line, market=order.market, revision=revision)
    if problems:
        raise Refused(*problems)
    return _asked(order, Amendment.ADD, [], asked=amend_plan.asked_of(line), because=because, by=by, at=at)


@tried_again
def ask_take_off(*, order, codes_of_blinds, because, by, at):
    """Ask that the blinds with these codes are not made; all that are left, and the order is cancelled."""
    order = _at_work(order, because)
    return _asked(order, Amendment.TAKE_OFF, _blinds(order, codes_of_blinds), because=because, by=by, at=at)


@tried_again
def ask_head(*, order, due_on, note, because, by, at):
    """Ask for another promised day or note."""
    order = _at_work(order, because)
    if (due_on, note) == (order.due_on, order.note):
        raise Refused("Nothing would change: the day and the note are these already.")
    _require_day(order, due_on, at=at)
    was = {"due_on": order.due_on.isoformat(), "note": order.note}
    asked = {"due_on": due_on.isoformat(), "note": note, "was": was}
    return _asked(order, Amendment.HEAD, [], asked=asked, because=because, by=by, at=at)


def _require_day(order, due_on, *, at):
    """Another day than is promised must be one that can be."""
    problem = due_on != order.due_on and calendar.read().why_not_promised(due_on, today=timezone.localdate(at))
    if problem:
        raise Refused(problem)


def _at_work(order, because):
    """The order, held until the end, so that two desks see what the other asks for."""
    if not because.strip():
        raise Refused("Say why: what the customer wants, and who said so.")
    order = Order.objects.select_for_update().get(pk=order.pk)
    if order.state != Order.RELEASED:
        next_step = "Change it directly." if order.editable else "Enter a new order for the change."
        raise Refused(f"{order} is {order.get_state_display().lower()}. {next_step}")
    return order


def _blinds(order, codes_of_blinds):
    """The order's blinds with these codes, each still to be made and not asked about before."""
    blinds = list(Blind.objects.of_order(order).with_order().select_related("line").filter(code__in=codes_of_blinds))
    if not blinds:
        raise Refused("Tick the blinds that it is about.")
    unpacked = set(Blind.objects.of_order(order).unpacked().values_list("pk", flat=True))
    problems = [
        f"{blind.number} is packed or was taken off. Leave it out, and enter a new order for what is wanted instead."
        for blind in blinds
        if blind.pk not in unpacked
    ]
    for blind in blinds:
        if before := Amendment.objects.open_for(blind):
            problems.append(
                f"A change of {blind.number} is asked for already, by {before.asked_by}: {before.because}. "
                "Wait until it is decided, or take that back first."
            )
    if problems:
        raise Refused(*problems)
    return blinds


def _asked(order, kind, blinds, *, because, by, at, **fields):
    because = because.strip()[:200]
    made = Amendment.objects.create(order=order, kind=kind, because=because, asked_by=by, asked_at=at, **fields)
    made.blinds.set(blinds)
    for blind in blinds:
        _log(blind, route.ASK, by=by, at=at, data={"amendment": made.pk, "because": because})
    wake()
    return made


# What is decided about it


@tried_again
def withdraw(*, amendment, by, at):
    """What was asked for isn't wanted any more."""
    return _left_as_it_is(amendment, to=Amendment.WITHDRAWN, by=by, at=at)


@tried_again
def refuse(*, amendment, reason, by, at):
    if not reason.strip():
        raise Refused("Say why it can't be done, so that sales can tell the customer.")
    return _left_as_it_is(amendment, to=Amendment.REFUSED, reason=reason.strip()[:200], by=by, at=at)


def _left_as_it_is(amendment, *, to, by, at, reason=""):
    amendment = _decided(amendment, to=to, by=by, at=at, reason=reason)
    for blind in amendment.blinds.all():
        data = {"amendment": amendment.pk, "decided": to, "because": reason or amendment.because}
        _log(blind, route.KEEP, by=by, at=at, data=data)
    wake()
    return amendment


@tried_again
def accept(*, amendment, seen, by, at, reason=""):
    """Do what was asked for. `seen` is the mark of the plan that was looked at: where it would come to something else
    by now, it is refused, and looked at again."""
    amendment = _decided(amendment, to=Amendment.ACCEPTED, by=by, at=at, reason=reason.strip()[:200])
    plan = amend_plan.plan_of(amendment)
    if plan.problems:
        raise Refused(*plan.problems)
    if plan.mark != seen:
        raise Refused(
            "Meanwhile the workshop has gone on, or other figures are in force: it comes to something else than was "
            "shown. Look at it again."
        )
    ACCEPTED[amendment.kind](plan, by=by, at=at)
    wake()
    return amendment


def _decided(amendment, *, to, **decided):
    """Claim the decision with the order's row held: the first of two desks decides, the other is told."""
    order = Order.objects.select_for_update().get(pk=amendment.order_id)
    decision = {"state": to, "decided_by": decided["by"], "decided_at": decided["at"], "reason": decided["reason"]}
    claimed = Amendment.objects.open().filter(pk=amendment.pk).update(**decision)
    found = Amendment.objects.with_people().get(pk=amendment.pk)
    if not claimed:
        raise Refused(
            f"{found.get_kind_display()} of {found.order} is {found.get_state_display().lower()} already, "
            f"by {found.decided_by}."
        )
    found.order = order
    return found


def _change(plan, *, by, at):
    amendment, order = plan.amendment, plan.amendment.order
    line = amended.change_line(line=amendment.line, wanted=plan.line, blinds=len(plan.blinds))
    for each in plan.blinds:
        data = {
            "amendment": amendment.pk,
            "because": amendment.because,
            "before": each.blind.frozen,
            "after": each.after,
            "again": each.again,
            "scrapped": each.scrapped,
            "remake": _next_papers(each.blind),
        }
        _log(each.blind, route.AMEND, by=by, at=at, data=data, frozen=each.after, line=line)
    void = {key for each in plan.blinds for key in each.again}
    numbers = ", ".join(each.blind.number for each in plan.blinds)
    places = listed(place.english.lower() for place in route.STATIONS if place.key in void)
    again = f", again at {places}" if places else ", before it was begun"
    intake.doubt_promise(order=order, because=f"A change of {numbers} was accepted{again}", at=at)


def _next_papers(blind):
    if blind.remake >= codes.LARGEST_REMAKE:
        raise Refused(
            f"The papers of {blind.number} were made anew {blind.remake} times, and a label counts no further."
        )
    return blind.remake + 1


def _add(plan, *, by, at):
    order = plan.amendment.order
    line = amended.add_line(order=order, wanted=plan.line)
    blinds = release_line(order=order, line=line, by=by, at=at)
    plan.amendment.blinds.set(blinds)
    numbers = ", ".join(blind.number for blind in blinds)
    intake.doubt_promise(order=order, because=f"Another line was accepted: {numbers}", at=at)


def _take_off(plan, *, by, at):
    """What is left decides: the order is ready where all that is left is packed, cancelled where nothing is."""
    amendment, order = plan.amendment, plan.amendment.order
    for each in plan.blinds:
        data = {"amendment": amendment.pk, "because": amendment.because, "scrapped": each.scrapped}
        _log(each.blind, route.TAKE_OFF, by=by, at=at, data=data)
    for line, blinds in Counter(each.blind.line for each in plan.blinds).items():
        amended.take_off(line=line, blinds=blinds)
    left = Blind.objects.of_order(order)
    if not left.not_taken_off().exists():
        intake.cancel_at_work(order=order, by=by, at=at)
    elif not left.unpacked().exists():
        intake.mark_ready(order=order, by=by, at=at)


def _head(plan, *, by, at):
    amendment, wanted = plan.amendment, amend_plan.head_of(plan.amendment)
    _require_day(amendment.order, wanted["due_on"], at=at)
    amended.change_head(
        order=amendment.order,
        **wanted,
        because=f"Asked for by {amendment.asked_by}: {amendment.because}",
        by=by,
        at=at,
    )


ACCEPTED = {
    Amendment.CHANGE: _change,
    Amendment.ADD: _add,
    Amendment.TAKE_OFF: _take_off,
    Amendment.HEAD: _head,
}


def _log(blind, kind, *, by, at, data, frozen=None, line=None):
    stages = {stage.station: stage for stage in Stage.objects.filter(blind=blind).select_related("person")}
    states = {key: route.StageState(stage.state, stage.attempt) for key, stage in stages.items()}
    try:
        moved = route.after(states, kind=kind, again=data.get("again", ()))
    except route.OutOfOrder as reason:
        raise Refused(f"{blind.number} {reason}") from reason
    log.write(
        blind,
        stages,
        moved,
        event_id=uuid.uuid4(),
        kind=kind,
        by=by,
        data=data,
        kept={"at": at},
        frozen=frozen,
        line=line,
    )
