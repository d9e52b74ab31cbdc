"""The demo's people, tablets, hardware system, fabrics and customers, from fixtures/demo/workshop.toml."""

import datetime as dt
import hashlib
import hmac
import itertools
import tomllib

from django.conf import settings

from calc.system import DEMO_38
from orders import calendar, catalogue, intake
from orders.models import Person
from production import crew, route, tablets

from .worktime import weekday_after

INVENTED = settings.BASE_DIR / "fixtures" / "demo" / "workshop.toml"
DAY_MINUTES = 480
"""Of each person in the demo: its people take few breaks."""


def invented():
    return tomllib.loads(INVENTED.read_text(encoding="utf-8"))


def password(*, username, words):
    """A password for the demo, such as 'heron-linen-cobalt-27': it follows from this server's SECRET_KEY alone, so it
    can be shown again and is kept nowhere."""
    digest = _digest(f"demo {username}")
    picked = [words[byte % len(words)] for byte in digest[:3]]
    return "-".join([*picked, str(10 + digest[3] % 90)])


def pin(*, username):
    """A PIN for the demo, four digits, which follows from this server's SECRET_KEY in the same way."""
    tries = (_digest(f"demo PIN {number} {username}") for number in itertools.count())
    drawn = (f"{int.from_bytes(digest[:4]) % 10_000:04d}" for digest in tries)
    return next(digits for digits in drawn if not tablets.pin_problem(digits))


def _digest(text):
    return hmac.new(settings.SECRET_KEY.encode(), text.encode(), hashlib.sha256).digest()


def furniture(given, *, by, at):
    """What orders are entered with, by the names of `book.enter`: the system that `by` publishes, fabrics and words."""
    return {
        "system": publish_system(by=by, at=at),
        "fabrics": add_fabrics(fabrics=given["fabrics"]),
        "rooms": given["rooms"],
        "instructions": given["instructions"],
    }


def add_people(*, people, words):
    """The people by user name; who may have a PIN has one."""
    made = {
        given["username"]: Person.objects.create_user(
            username=given["username"],
            password=password(username=given["username"], words=words),
            first_name=given["first_name"],
            last_name=given["last_name"],
            roles=given["roles"],
        )
        for given in people
    }
    for username, person in made.items():
        if tablets.may_have(person):
            tablets.set_pin(person=person, pin=pin(username=username))
    return made


def add_tablets(*, by, at):
    """A tablet at each station, by the station's key. Their cookies are thrown away: to try one, enrol a browser."""
    return {
        station.key: tablets.enrol(name=f"{station.name} 1", station=station.key, by=by, at=at)[0]
        for station in route.STATIONS
    }


def plan_ahead(*, people, persons, today):
    """What the plan reckons with: crews as the people work, one of them away next week, closed at the year's end."""
    first_choices = [one["at"][0] for one in people if "at" in one]
    crew.set_crews({key: {"people": first_choices.count(key), "minutes": DAY_MINUTES} for key in route.STATION})
    away = weekday_after(today, days=6)
    stringer = next(one["username"] for one in people if one.get("at") == [route.STRINGING])
    crew.add_absence(person=persons[stringer], station=route.STRINGING, first_day=away, last_day=away)
    first_day, last_day = dt.date(today.year, 12, 29), dt.date(today.year, 12, 31)
    calendar.close(first_day=first_day, last_day=last_day, reason="Between the years")


def publish_system(*, by, at):
    system = catalogue.add_system(code=DEMO_38.code, name="Demo 38", constants=DEMO_38, by=by, at=at)
    catalogue.publish(revision=system.revisions.get(), by=by, at=at)
    return system


def add_fabrics(*, fabrics):
    return [
        catalogue.add_fabric(
            code=f"{given['name']}-{colour}-{width}".lower().replace(" ", "-"),
            name=given["name"],
            colour=colour,
            vane_width_mm=width,
            weight_g_per_m2=given["weight_g_per_m2"],
            stiffness=given["stiffness"],
        )
        for given in fabrics
        for colour in given["colours"]
        for width in given["widths"]
    ]


def add_customers(*, customers):
    return [intake.add_customer(**given) for given in customers]
