"""How a figure came about: its formula in words and in numbers, what was put in, its tolerance and its source."""

import re
from dataclasses import fields

from calc.rounding import exact, json_number
from calc.system import System, VaneParts
from calc.tolerance import can_decide, tape_error_mm

from .from_calc import said
from .words import N_, _, listed

# Where a figure's tolerance stands in `tolerances_mm`, and the system's constant that names its class.
TOLERANCES = {
    "rail_cut_mm": ("rail_cut_mm", "rail_class"),
    "tilt_rod_cut_mm": ("tilt_rod_cut_mm", "tilt_rod_class"),
    "spacer_tubes_mm.left": ("spacer_tubes_mm.left", "spacer_tube_class"),
    "spacer_tubes_mm.right": ("spacer_tubes_mm.right", "spacer_tube_class"),
    "vanes.cut_mm": ("vane_cut_mm", "vane_class"),
    "vanes.finished_mm": ("vane_cut_mm", "vane_class"),
    "chain_drop_mm": ("chain_drop_mm", "chain_class"),
    "cord_cut_mm": ("cord_cut_mm", "cord_class"),
    "gap_check_mm": ("gap_check_mm.worst_case", None),
}
# What a formula calls a figure where that is not the figure's own name.
PUT_IN_AS = {
    "carriers_total": "carriers.total",
    "vanes_count": "vanes.count",
    "vanes_finished_mm": "vanes.finished_mm",
    "vanes_cut_mm": "vanes.cut_mm",
    "vane_cut_mm": "vanes.cut_mm",
    "outermost_left_mm": "outermost_mm.left",
    "outermost_right_mm": "outermost_mm.right",
    "held": "gap_check_held",
    "rail_mm": "tolerances_mm.rail_cut_mm",
    "tube_left_mm": "tolerances_mm.spacer_tubes_mm.left",
    "tube_right_mm": "tolerances_mm.spacer_tubes_mm.right",
}
# The figures that explain another's tolerance.
PARTS_OF_BAND = {
    "gap_check_mm": ("tolerances_mm.gap_check_mm.worst_case", "tolerances_mm.gap_check_mm.root_sum_square"),
}
# Not to be worked to before the chain is measured.
BY_MEASURED_CHAIN = ("cord_drop_mm", "cord_cut_mm", "tolerances_mm.cord_cut_mm")
CONSTANTS = {one.name for record in (System, VaneParts) for one in fields(record)}
CONSTANTS |= {"clearance_mm", "inset_mm", "tube_mm", "body_mm", "cord_over_chain_mm", "link_mm"}
UNITS = {"mm": "mm", "kg_per_m": "kg/m", "g_per_m2": "g/m²", "kg": "kg", "g": "g", "m": "m"}
UNIT_ENDINGS = re.compile(r"_(mm|kg_per_m|g_per_m2|kg|g|m)$")
NAME = re.compile(r"[a-z_][a-z0-9_]*")
ROOT = re.compile(r"^\((.*)\) \*\* 0\.5$")
IN_WORDS = {
    "max": N_("the greater of "),
    "min": N_("the lesser of "),
    "ceil": N_("round up "),
    "floor": N_("round down "),
}
LOOKED_UP = ("allowed_mm", "stocked_wand_mm")
"""Values that are chosen from a table or a shelf: what they were chosen by is put in beside them."""


def reach(found, key):
    """The value under a dotted key, or None."""
    for part in key.split("."):
        found = found.get(part) if isinstance(found, dict) else None
    return found


def entry_of(components, key):
    """The working of the figure called `key`, as `calc` wrote it down, or None."""
    return next((entry for entry in components["working"] if entry["name"] == key), None)


def value_of(components, key):
    """The figure called `key`, one of the answer's or one on the way to them; None where there is none."""
    entry = entry_of(components, key)
    return entry["value"] if entry else reach(components, key)


def figure(key, label, components, *, system=None):
    """A figure with its working; with `system`, the tolerance says its class and what the workshop's tape can tell."""
    entry = entry_of(components, key)
    value = value_of(components, key)
    return {
        "key": key,
        "label": _(label),
        "value": value,
        "unit": entry["unit"] if entry else "",
        "tolerance": tolerance_mm(key, components),
        "band": band(key, value, components, system=system) if system else None,
        "working": working(entry, components) if entry else None,
    }


def tolerance_mm(key, components):
    if key not in TOLERANCES or not components.get("tolerances_mm"):
        return None
    return reach(components["tolerances_mm"], TOLERANCES[key][0])


def working(entry, components):
    """How a figure came about: formula in words, the same in numbers, what was put in and from where, the source."""
    values = entry["values"]
    in_words = NAME.sub(lambda found: spoken(found[0]) if found[0] in values else found[0], entry["formula"])
    in_numbers = NAME.sub(lambda found: str(values.get(found[0], found[0])), entry["formula"])
    chosen_by = [name for name in values if entry["formula"] in LOOKED_UP and name != entry["formula"]]
    words = signs(in_words) if NAME.search(entry["formula"]) else _("chosen, not computed")
    if chosen_by:
        words += _(", looked up by {names}", names=listed((spoken(name) for name in chosen_by), _(" and ")))
    return {
        "formula": words,
        "numbers": signs(in_numbers),
        "computed": in_numbers != str(entry["value"]),
        "source": said(entry["source"]),
        "put_in": [_put_in(name, value, entry, components) for name, value in values.items() if name not in LOOKED_UP],
    }


def _put_in(name, value, entry, components):
    """One number put in: a constant of the system, another figure of the blind (`key`), or what was ordered."""
    side = entry["name"].rpartition(".")[2]
    key = next((key for key in (PUT_IN_AS.get(name), name, f"{name}.{side}") if key and entry_of(components, key)), "")
    ending = UNIT_ENDINGS.search(name)
    return {
        "words": spoken(name),
        "value": value,
        "unit": UNITS[ending[1]] if ending else "",
        "constant": name in CONSTANTS,
        "key": "" if key == entry["name"] else key,
    }


def band(key, value, components, *, system):
    """What a figure's tolerance and the tape's own error make of a measured value, or None where it has none."""
    allowed_mm = tolerance_mm(key, components)
    if allowed_mm is None or value is None:
        return None
    letter = TOLERANCES[key][1] and getattr(system, TOLERANCES[key][1])
    error_mm = tape_error_mm(length_mm=value, tape_class=system.tape_class)
    return {
        "tolerance": allowed_mm,
        "letter": letter,
        "source": said(_band_source(key, components, system).removesuffix(f", class {letter}")) if letter else "",
        "likely": reach(components["tolerances_mm"], "gap_check_mm.root_sum_square") if key == "gap_check_mm" else None,
        "tape_class": system.tape_class,
        "tape": json_number(error_mm),
        "decides": can_decide(tolerance_mm=allowed_mm, length_mm=value, tape=system.tape_class),
        "within": json_number(exact(allowed_mm) - error_mm),
        "outside": json_number(exact(allowed_mm) + error_mm),
    }


def _band_source(key, components, system):
    return entry_of(components, f"tolerances_mm.{TOLERANCES[key][0]}")["source"].removesuffix(f"; {system.said}")


def spoken(name):
    """The name of a value as people say it."""
    return _(UNIT_ENDINGS.sub("", name).replace("_", " "))


def signs(formula):
    """Plain arithmetic as a person writes it."""
    formula = ROOT.sub(r"√(\1)", formula).replace(" ** 2", "²")
    formula = re.sub(r"\b(max|min|ceil|floor)(?=\()", lambda found: _(IN_WORDS[found[0]]), formula)
    return formula.replace("*", "×").replace(" - ", " − ").replace("/", "÷")
