"""How two versions of a blind differ, in words: what was ordered otherwise, and every figure that follows from it."""

from django.utils.translation import gettext

from orders.models.choices import WORDS

from . import route
from .difference import figures_between
from .words import N_, _

NONE = N_("none")
# What is said of a blind beside its size, as the reader knows it.
SAID = (
    ("spec", "vane_width_mm", N_("Vane width"), "mm"),
    ("spec", "draw", N_("Draw"), ""),
    ("spec", "hand", N_("Hand"), ""),
    ("spec", "operation", N_("Operation"), ""),
    ("spec", "loop_control", N_("Loop control"), ""),
    ("spec", "chain", N_("Chain"), ""),
    ("spec", "control_drop_mm", N_("Control drop"), "mm"),
    ("spec", "installation_height_mm", N_("Installation height"), "mm"),
    ("spec", "fixing", N_("Fixing"), ""),
    ("spec", "bottom", N_("Bottom"), ""),
    ("spec", "system", N_("Hardware system"), ""),
    ("", "fabric", N_("Fabric"), ""),
    ("", "room", N_("Room"), ""),
    ("", "special_instruction", N_("Special instruction"), ""),
)


def said_between(before, after):
    """What is ordered otherwise: a list of label, unit, old and new value in words."""
    rows = []
    if _size(before) != _size(after):
        rows.append(_row(N_("Size"), _size(before), _size(after), "mm"))
    for part, name, label, unit in SAID:
        old, new = (version[part][name] if part else version[name] for version in (before, after))
        if old != new:
            rows.append(_row(label, _word(old), _word(new), unit))
    if _stations(before) != _stations(after):
        rows.append(_row(N_("Special instruction for"), _stations(before), _stations(after), ""))
    return rows


def between(before, after):
    """What is ordered otherwise, then each figure that differs."""
    figures = figures_between(before["components"], after["components"])
    return [*said_between(before, after), *figures]


def version_words(version):
    """All that was ordered of one version, where there is nothing to hold it against."""
    rows = [_row(N_("Size"), "", _size(version), "mm")]
    for part, name, label, unit in SAID:
        if value := version[part][name] if part else version[name]:
            rows.append(_row(label, "", _word(value), unit))
    return rows


def _row(label, old, new, unit):
    return {"label": _(label), "unit": unit, "old": old, "new": new}


def _size(version):
    spec = version["spec"]
    return f"{spec['width_mm']} × {spec['drop_mm']} {gettext(WORDS[spec['size_basis']]).lower()}"


def _word(value):
    if value in (None, ""):
        return _(NONE)
    return gettext(WORDS[value]) if value in WORDS else str(value)


def _stations(version):
    if not version["special_instruction"]:
        return _(NONE)
    return ", ".join(route.STATION[key].name.lower() for key in route.STATION if key in version["concerns"])
