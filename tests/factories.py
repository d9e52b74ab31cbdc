"""Builders for tests: only what a test speaks of is given, the rest is filled in. All values are invented."""

import datetime as dt
import itertools
import uuid

from calc.system import DEMO_38
from orders import entry, intake
from orders.models import Customer, Fabric, HardwareSystem, Order, OrderLine, Person, SystemRevision
from production import bench, replay, route, steps
from production.record import record
from production.release import release

AT = dt.datetime(2026, 3, 4, 9, 0, tzinfo=dt.UTC)
DUE = dt.date(2026, 3, 18)
_names = itertools.count(1)


def person(*roles, name=None, **fields):
    name = name or f"person{next(_names)}"
    return Person.objects.create_user(username=name, password="a-long-passphrase", roles=list(roles), **fields)


def system(code="demo-38", constants=DEMO_38):
    found, _ = HardwareSystem.objects.get_or_create(code=code, defaults={"name": "Demo 38"})
    if not found.revisions.exists():
        SystemRevision.objects.create(
            system=found, number=1, state="published", published_at=AT, constants=constants.to_dict()
        )
    return found


def fabric(vane_width_mm=89, **fields):
    values = {"name": "Linden", "colour": "chalk", "weight_g_per_m2": 240, **fields}
    code = fields.pop("code", f"linden-{vane_width_mm}")
    return Fabric.objects.get_or_create(code=code, defaults={**values, "vane_width_mm": vane_width_mm})[0]


def customer(name="Marlow Court Interiors", **fields):
    return Customer.objects.get_or_create(name=name, defaults=fields)[0]


def order(*, by=None, due_on=DUE, at=AT, lines=(), **fields):
    """A draft order; each of `lines` is a dict of what differs from a plain split blind of 1830 x 1600 recess.

    Whatever looks like a slip in it is answered: it is right.
    """
    fields.setdefault("customer", customer())
    made = intake.open_order(by=by or person("sales"), at=at, due_on=due_on, **fields)
    for given in lines:
        intake.save_line(order=made, line=line(**given))
    if lines:
        entry.answer_all(order=made, by=made.entered_by, at=at)
    return made


def line(**given):
    """An unsaved line: a split, left-handed blind with cord, chain and tensioner."""
    width = given.get("vane_width_mm", 89)
    fields = {
        "room": "Kitchen",
        "width_mm": 1830,
        "drop_mm": 1600,
        "size_basis": "recess",
        "vane_width_mm": width,
        "draw": "split",
        "hand": "left",
        "operation": "cord_chain",
        "loop_control": "tensioner",
        "chain": "metal",
        **given,
    }
    if fields["operation"] == "wand":
        fields.update(loop_control="", chain="")
    fields.setdefault("system", system())
    fields.setdefault("fabric", fabric(width))
    return OrderLine(**fields)


def released(*, by=None, at=AT, lines=({},), **fields):
    """The blinds of an order entered, confirmed and released."""
    by = by or person("sales")
    made = order(by=by, at=at, lines=lines, **fields)
    intake.confirm(order=made, by=by, at=at)
    return release(order=made, by=by, at=at)


def tell(blind, station, kind, *, by, at=AT, **data):
    """Record one thing that happened, as a tablet would."""
    return record(
        event_id=uuid.uuid4(), code=blind.code, station=station, kind=kind, by=by, at=at, data=data or None
    ).event


def right_value(step):
    """What a careful maker enters for `step`."""
    if step.kind in (steps.COUNT, steps.MEASURE):
        return step.expected
    return "lot 7" if step.kind == steps.NOTE else True


def enter_steps(blind, station, *, by, at=AT, but=(), **values):
    """Enter every step of the station that must be, except the keys in `but`; `values` replaces single ones."""
    for step in (found.step for found in bench.read(blind=blind, station=station).steps if found.step.must):
        if step.key not in but:
            value = values.get(step.key, right_value(step))
            tell(blind, station, route.STEP, by=by, at=at, key=step.key, value=value)


def work(blind, station, *, by, at=AT, **values):
    """Take a blind through one station: start, every step, finish."""
    tell(blind, station, route.START, by=by, at=at)
    enter_steps(blind, station, by=by, at=at, **values)
    return tell(blind, station, route.FINISH, by=by, at=at)


def make(blind, *, maker, checker, until=route.PACKING, at=AT):
    """Take a blind through every station up to and including `until`."""
    for place in route.STATIONS:
        work(blind, place.key, by=checker if place.key == route.CHECKING else maker, at=at)
        if place.key == until:
            return


def replayed(blind):
    """A blind's stages worked out anew from its events alone."""
    return replay.replayed(blind.events.order_by("sequence"))


def order_state(blind):
    return Order.objects.get(pk=blind.order_id).state
