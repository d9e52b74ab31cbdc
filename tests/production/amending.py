"""What tests of accepted changes share: asking for one, deciding it at the workshop's usual hour, and looking at what
became of the blind."""

import pytest

from orders.models import OrderLine
from production import amend, amend_plan, route
from production.models import Amendment, Blind, Stage, StationEvent
from tests import factories
from tests.factories import AT, replayed


def fresh(blind):
    """The blind as it stands in the database."""
    return Blind.objects.select_related("order", "line", "revision").get(pk=blind.pk)


def wanted(blind, **given):
    """The line of `blind` with what is wanted otherwise, not saved."""
    line = OrderLine.objects.select_related("fabric", "system").get(pk=fresh(blind).line_id)
    for name, value in given.items():
        setattr(line, name, value)
    return line


def typed(line, **given):
    """What a browser sends of the form of `line`."""
    fields = {
        name: getattr(line, name)
        for name in ("room", "width_mm", "drop_mm", "size_basis", "vane_width_mm", "draw", "hand", "operation")
    }
    fields |= {name: getattr(line, name) for name in ("loop_control", "chain", "fixing", "bottom")}
    fields |= {"system": line.system_id, "fabric": line.fabric_id, "because": "The customer rang", "quantity": 1}
    return {**fields, "special_instruction": "", **given}


def ask(*blinds, by=None, at=AT, because="The customer rang", **given):
    """Ask for a change of these blinds, of one line."""
    return amend.ask_change(
        order=blinds[0].order,
        codes_of_blinds=[blind.code for blind in blinds],
        line=wanted(blinds[0], **given),
        because=because,
        by=by or factories.person("sales"),
        at=at,
    )


def ask_off(*blinds, by=None, at=AT):
    return amend.ask_take_off(
        order=blinds[0].order,
        codes_of_blinds=[blind.code for blind in blinds],
        because="The customer rang",
        by=by or factories.person("sales"),
        at=at,
    )


def plan(amendment):
    return amend_plan.plan_of(amendment)


def accept(amendment, *, by=None, at=AT, seen=None):
    by = by or factories.person("manager")
    return amend.accept(amendment=amendment, seen=seen or plan(amendment).mark, by=by, at=at)


def change(*blinds, by=None, at=AT, **given):
    """Ask for a change and accept it."""
    return accept(ask(*blinds, by=by, at=at, **given), by=by, at=at)


def state_of(amendment):
    return Amendment.objects.get(pk=amendment.pk).state


def refused(said):
    return pytest.raises(amend.Refused, match=said)


def states(blind):
    return dict(Stage.objects.filter(blind=blind).values_list("station", "state"))


def last(blind):
    return StationEvent.objects.of_blind(blind).last()


def proved(blind):
    """The copy of the stages is what the log adds up to."""
    copied = {
        stage.station: route.StageState(stage.state, stage.attempt) for stage in Stage.objects.filter(blind=blind)
    }
    assert replayed(blind) == copied
    events = StationEvent.objects.of_blind(blind)
    assert [event.sequence for event in events] == list(range(1, fresh(blind).version + 1))
