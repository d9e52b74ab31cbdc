"""Whom a change that is asked for would make late by the plan, told before anybody decides; nothing is written."""

from . import amend_plan, planning, promising, worktimes
from .models import Amendment


def outlooks(plans, *, at):
    """The promising.Outlook of accepting each amend_plan.Plan, by its amendment's key: None where nobody loses by it.

    Those that can't be accepted, and those of orders that are not booked or would be cancelled, are left out.
    """
    plans = [plan for plan in plans if plan and not plan.problems]
    if not plans:
        return {}
    before, found = planning.read(at=at), {}
    for plan in plans:
        order = plan.amendment.order
        after = accepted(plan, before=before) if order.number in before.booked else None
        if after:
            found[plan.amendment.pk] = promising.outlook_of_change(order, before=before, after=after)
    return found


def accepted(plan, *, before):
    """The Planning as it would be once `plan` is accepted; None where nothing would be left of its order."""
    number, amendment = plan.amendment.order.number, plan.amendment
    needs = before.needs[number].copy()
    if amendment.kind == Amendment.HEAD:
        return before.otherwise(number=number, needs=needs, due=amend_plan.head_of(amendment)["due_on"])
    if amendment.kind == Amendment.ADD:
        needs.add_line({name: getattr(plan.line, name) for name in planning.LINE_FIELDS})
    for each in plan.blinds:
        _take(needs, each)
        if amendment.kind == Amendment.CHANGE:
            _add(needs, each)
    return before.otherwise(number=number, needs=needs) if needs.blinds.total() else None


def _take(needs, found):
    spec = found.blind.spec
    kind = worktimes.kind_of_spec(spec)
    needs.add(kind, spec["vane_width_mm"], blinds=-1)
    for station in _open(found):
        needs.open[station, kind] -= 1


def _add(needs, found):
    spec = found.after["spec"]
    kind = worktimes.kind_of_spec(spec)
    needs.add(kind, spec["vane_width_mm"])
    for station in _open(found) | {*found.again}:
        needs.open[station, kind] += 1


def _open(found):
    return {key for key, stage in found.stages.items() if stage.state in planning.OPEN}
