"""What else the demo's desk sees today: a customer's file taken in, changes of orders at work, other programs' keys.

All of it by the functions that the pages use. It comes last, since nothing happens in the demo after it.
"""

import datetime as dt

from django.conf import settings
from django.db.models import Count, Q
from django.utils import timezone

from orders import api_keys
from orders.importing import taking
from orders.models import Customer, Order, OrderLine
from production import amend, amend_plan, route
from production.models import Blind, StationEvent

from .worktime import weekday_after

FILE = settings.BASE_DIR / "fixtures" / "demo" / "quillmarsh-annexe.csv"
FILES_CUSTOMER = "Quillmarsh Interiors"
SILL_HIGHER_MM = 35
ASKED_AGO, DECIDED_AGO = dt.timedelta(minutes=25), dt.timedelta(minutes=9)


def take_in_a_file(*, by, at):
    file = taking.keep(
        customer=Customer.objects.get(name=FILES_CUSTOMER), name=FILE.name, content=FILE.read_bytes(), by=by, at=at
    )
    today = timezone.localdate(at)
    return taking.take_in(file=file, due_on=weekday_after(today, days=10), by=by, at=at, today=today)


def make_keys(*, by, made_at, revoked_at):
    """One key in use and one that was taken away. Their secrets are kept nowhere: to try one, make another."""
    given = {"every_customer": True, "customers": [], "by": by, "at": made_at}
    api_keys.make(name="Web shop", scopes=["orders:read", "orders:write"], **given)
    old, _ = api_keys.make(name="Old accounts program", scopes=["orders:read"], **given)
    api_keys.revoke(key=old, by=by, at=revoked_at)


def ask_changes(*, sales, manager, at):
    """One change that was accepted, of the blind least begun, and one that waits, of one that is further on."""
    asked_at = at - ASKED_AGO
    decided = _ask(
        _blinds(asked_at).order_by("begun", "-order__number", "serial"),
        because="The customer rang: the radiator stands on the other side.",
        changes=lambda line: {"hand": "left" if line.hand == "right" else "right"},
        by=sales,
        at=asked_at,
    )
    if decided:
        amend.accept(amendment=decided, seen=amend_plan.plan_of(decided).mark, by=manager, at=at - DECIDED_AGO)
    _ask(
        _blinds(asked_at).filter(amendments=None).order_by("-vanes_cut", "begun", "-order__number", "serial"),
        because=f"The customer measured again: the sill is {SILL_HIGHER_MM} mm higher than on the sheet.",
        changes=lambda line: {"drop_mm": line.drop_mm - SILL_HIGHER_MM},
        by=sales,
        at=asked_at,
    )


def _blinds(at):
    """Blinds still to be packed to which nothing has happened since `at`: stations `begun`, and whether `vanes_cut`."""
    later = StationEvent.objects.filter(at__gt=at).values("blind")
    return (
        Blind.objects.unpacked()
        .filter(order__state=Order.RELEASED)
        .exclude(pk__in=later)
        .with_order()
        .annotate(
            begun=Count("stages", filter=Q(stages__state__in=route.BEGUN)),
            vanes_cut=Count("stages", filter=Q(stages__station=route.VANES, stages__state=route.DONE)),
        )
    )


def _ask(blinds, *, because, changes, by, at):
    """Ask for the change of the first of `blinds` that can be made so; None where none can."""
    for blind in blinds:
        line = OrderLine.objects.select_related("fabric", "system").get(pk=blind.line_id)
        for name, value in changes(line).items():
            setattr(line, name, value)
        try:
            return amend.ask_change(
                order=blind.order, codes_of_blinds=[blind.code], line=line, because=because, by=by, at=at
            )
        except amend.Refused:
            continue
    return None
