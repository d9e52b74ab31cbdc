"""The values that an entry of the audit tells of, as people say them."""

import datetime as dt

from django.db.models import CharField
from django.utils.dates import WEEKDAYS
from django.utils.formats import date_format

from calc.book import constants

from .models import Order, OrderLine
from .models.api_keys import SCOPES
from .orders_on_record import HEAD, LINE
from .roles import ROLE_NAMES

NAMES = {
    "username": "signs in as",
    "is_active": "may sign in",
    "due_on": "promised day",
    "for_a_first_sign_in_until": "for a first sign-in, until",
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
CHOSEN = [
    field
    for model, names in ((Order, HEAD), (OrderLine, LINE))
    for field in map(model._meta.get_field, names)
    if field.choices and isinstance(field, CharField)
]
"""Of an order and its lines, what is chosen from a list of words."""
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
    **{field.name: _of_list(dict(field.flatchoices)) for field in CHOSEN},
    **dict.fromkeys(("first_day", "last_day", "day", "due_on"), _day),
    **dict.fromkeys(("opens_at", "closes_at"), _time),
}
