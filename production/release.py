"""Releasing an order: its blinds are computed once more, frozen, and put before their first stations."""

import uuid

from django.db import transaction

from calc.components import components
from orders import intake
from orders.models import Order, SystemRevision
from orders.spec import spec_of

from . import codes, route
from .models import Blind, Stage, StationEvent


class ReleaseRefused(Exception):
    """The order can't be made as it stands; `problems` says each reason and what to do."""

    def __init__(self, problems):
        super().__init__(" ".join(problems))
        self.problems = problems


@transaction.atomic
def release(*, order: Order, by, at):
    """Freeze every blind of `order` and return them; raises ReleaseRefused with every problem at once."""
    drafts = _drafts(order, order.lines.in_order())
    try:
        intake.mark_released(order=order, by=by, at=at)
    except intake.Refused as refused:
        raise ReleaseRefused(refused.problems) from refused
    return [_add(draft, order=order, serial=serial, by=by, at=at) for serial, draft in enumerate(drafts, start=1)]


def release_line(*, order: Order, line, by, at):
    """Freeze the blinds of a line that an accepted change adds to an order at work, in the caller's transaction.

    The blinds are numbered on from the last; raises ReleaseRefused with every problem at once.
    """
    last = Blind.objects.of_order(order).count()
    drafts = _drafts(order, [line], after=last)
    return [_add(draft, order=order, serial=serial, by=by, at=at) for serial, draft in enumerate(drafts, last + 1)]


def _drafts(order, lines, *, after=0):
    """A (line, spec, components, revision) for each blind of `lines`, or every problem at once; `after` is how many
    blinds the order has before them."""
    problems, drafts = [], []
    for line in lines:
        revision = SystemRevision.objects.current(system=line.system)
        if revision is None:
            problems.append(
                f"Line {line.position}: {line.system} has no published revision. Ask a manager to publish one."
            )
            continue
        spec = spec_of(line, market=order.market)
        figures = components(spec, systems={line.system.code: revision.as_system()})
        refusals = [found["message"] for found in figures["findings"] if found["severity"] == "refuse"]
        problems += [f"Line {line.position}: {message}" for message in refusals]
        drafts += [(line, spec, figures, revision)] * line.quantity
    if not drafts and not problems:
        problems.append(f"{order} has no lines. Add a line first.")
    if after + len(drafts) > codes.LARGEST_SERIAL:
        problems.append(
            f"{order} has {after + len(drafts)} blinds; a ticket code numbers {codes.LARGEST_SERIAL}. Split the order."
        )
    if problems:
        raise ReleaseRefused(problems)
    return drafts


def _add(draft, *, order, serial, by, at):
    line, spec, figures, revision = draft
    blind = Blind.objects.create(
        order=order,
        line=line,
        serial=serial,
        code=codes.ticket_code(order_number=order.number, serial=serial),
        room=line.room,
        fabric=str(line.fabric),
        special_instruction=line.special_instruction,
        concerns=line.concerns or list(route.STATION),
        spec=spec,
        components=figures,
        revision=revision,
        released_at=at,
        version=1,
    )
    StationEvent.objects.create(
        event_id=uuid.uuid4(), blind=blind, sequence=1, kind=route.RELEASE, person=by, at=at, revision=revision
    )
    Stage.objects.bulk_create(
        Stage(blind=blind, station=key, state=stage.state, attempt=stage.attempt, since=at)
        for key, stage in route.released().items()
    )
    return blind
