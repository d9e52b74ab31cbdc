"""What the soak asks the workshop's own code: who works, what each step wants, and what stands on record at the end."""

import time

from django.conf import settings
from django.db import Error, close_old_connections
from django.test import Client

from orders.models import Customer, Fabric, Person
from production import bench, replay, route, steps
from production.models import Blind, StationEvent
from production.tablets import maker_token


def newest():
    """The newest event there is."""
    return StationEvent.objects.latest("pk").pk


def _cookie(person):
    client = Client()
    client.force_login(person)
    return f"{settings.SESSION_COOKIE_NAME}={client.cookies[settings.SESSION_COOKIE_NAME].value}"


def maker(number, stations):
    """Somebody new at one of the stations, as a Tablet wants them."""
    station = stations[number % len(stations)]
    roles = [role for role in route.STATION[station].roles if role in ("maker", "checker")]
    person = Person.objects.create_user(username=f"soak{number}", password=None, roles=roles)
    return {"cookie": _cookie(person), "station": station, "maker": maker_token(person=person), "steps_due": steps_due}


def clerk(number):
    person = Person.objects.create_user(username=f"desk-of-soak{number}", password=None, roles=["sales", "manager"])
    fabrics = Fabric.objects.offered().filter(vane_width_mm=89, stiffness=Fabric.SOFT)
    return {
        "cookie": _cookie(person),
        "customers": list(Customer.objects.values_list("pk", flat=True)),
        "fabrics": list(fabrics.values_list("code", flat=True)),
    }


def steps_due(code, station):
    """(key, right value) of each step that must be done; LookupError while the database is away or the blind is."""
    close_old_connections()
    try:
        found = bench.read(blind=Blind.objects.with_order().get(code=code), station=station).steps
    except (Error, Blind.DoesNotExist) as error:
        raise LookupError(code) from error
    return [(each.step.key, _right(each.step)) for each in found if each.step.must]


def _right(step):
    if step.kind in (steps.COUNT, steps.MEASURE):
        return step.expected
    return "lot 7" if step.kind == steps.NOTE else True


def newest_now():
    """As `newest`; LookupError while the database is away."""
    close_old_connections()
    try:
        return newest()
    except Error as error:
        raise LookupError from error


def changed_since(number):
    """The blinds with an event newer than that of the number, by code, and how many events each has."""
    touched = StationEvent.objects.filter(pk__gt=number).values("blind")
    return _once_it_answers(lambda: dict(Blind.objects.filter(pk__in=touched).values_list("code", "version")))


def compared(kept, *, since):
    """The record against what was sent: event ids lost, doubled or nobody's, and blinds whose stages differ."""
    return _once_it_answers(lambda: _compared(kept, since=since))


def _once_it_answers(ask):
    """Ask the database, which may have been cut off from this process as from others, until it answers."""
    for _ in range(60):
        close_old_connections()
        try:
            return ask()
        except Error:
            time.sleep(1)
    raise SystemExit("The database doesn't come back.")


def _compared(kept, *, since):
    events = StationEvent.objects.filter(pk__gt=since).exclude(kind=route.RELEASE)
    ids = [str(found) for found in events.values_list("event_id", flat=True)]
    return {
        "on_record": len(ids),
        "lost": sorted(kept.answered - set(ids)),
        "doubled": len(ids) - len(set(ids)),
        "nobody_sent": sorted(set(ids) - kept.sent),
        "refused_yet_on_record": sorted(kept.refused & set(ids)),
        "stages_differ": [f"{blind}: {words}" for blind, words in replay.differing()],
    }
