"""The values that an entry of the audit tells of, as people say them."""

import datetime as dt

from django.utils.dates import WEEKDAYS
from django.utils.formats import date_format

from calc.book import constants

from .models.api_keys import SCOPES
from .roles import ROLE_NAMES

NAMES = {
    "username": "signs in as",
    "is_active": "may sign in",
    "scopes": "may",
    "customers": "whose orders",
    "first_day": "from",
    "last_day": "until",
    "weekdays": "days worked",
    "opens_at": "shift begins",
    "closes_at": "shift ends",
    "days_in_hand": "working days in hand",
    "minutes": "minutes a day each",
    "weight_g_per_m2": "weight, g/m²",
}
CONSTANTS = {each.name: each.words for each in constants()}
UNITS = ("mm", "g", "kg", "m", "n")


def said(values):
    """(name, value) of each of `values` in words, in their order; nothing for None."""
    return [(_name(name), _value(name, value)) for name, value in (values or {}).items()]


def _name(name):
    """`vane_width_mm` is said as "vane width, mm"."""
    if known := NAMES.get(name) or CONSTANTS.get(name):
        return known
    what, _, unit = name.rpartition("_")
    return f"{_spaced(what)}, {unit}" if what and unit in UNITS else _spaced(name)


def _spaced(name):
    return name.replace("_", " ")


def _value(name, value):
    if isinstance(value, list):
        return ", ".join(str(_value(name, each)) for each in value) or "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if value in (None, ""):
        return "none"
    return WORDS[name](value) if name in WORDS else value


def _of_list(known):
    return lambda value: known.get(value, value)


def _day(value):
    return date_format(dt.date.fromisoformat(value), "D j M Y")


def _time(value):
    return date_format(dt.time.fromisoformat(value), "H:i")


WORDS = {
    "scopes": _of_list(dict(SCOPES)),
    "roles": _of_list({key: str(words).lower() for key, words in ROLE_NAMES.items()}),
    "weekdays": _of_list({key: str(words) for key, words in WEEKDAYS.items()}),
    **dict.fromkeys(("first_day", "last_day", "day"), _day),
    **dict.fromkeys(("opens_at", "closes_at"), _time),
}
