"""What is to be made: the lists of allowed values, one blind's frozen specification, and the reader that refuses."""

from collections.abc import Mapping
from decimal import Decimal
from math import isfinite
from typing import NamedTuple

from calc.findings import finding, refuses
from calc.headrail import finished_drop_mm, finished_width_mm
from calc.rounding import Exact, json_number, mm, ratio

SIZE_BASES = ("recess", "exact")
DRAWS = ("one_way", "reverse", "split")
HANDS = ("left", "right")
OPERATIONS = ("cord_chain", "wand")
LOOP_CONTROLS = ("tensioner", "breakaway", "weight")
CHAINS = ("plastic", "metal")
MARKETS = ("en13120", "australia", "canada", "usa")
FIXINGS = ("top", "face")
BOTTOMS = ("chain", "chainless")
VANE_WIDTHS_MM = (89, 127)

FORM = "the form of a blind's specification"
WAND = "a wand blind has no control end, no cord and no chain: common practice, no source"

_LISTS = {
    "size_basis": SIZE_BASES,
    "draw": DRAWS,
    "hand": HANDS,
    "operation": OPERATIONS,
    "loop_control": LOOP_CONTROLS,
    "chain": CHAINS,
    "market": MARKETS,
    "fixing": FIXINGS,
    "bottom": BOTTOMS,
}
# Above 0 and up to this; sizes are held against the system's range instead, once they are finished sizes.
_LIMITS = {"control_drop_mm": 5000, "measured_chain_mm": 5000, "installation_height_mm": 10000, "fabric_g_per_m2": 2000}
_MAY_BE_ABSENT = {"control_drop_mm", "measured_chain_mm", "installation_height_mm", "loop_control", "chain"}
_DEFAULTS = {"fixing": "top", "bottom": "chain"}
# Far beyond any blind, yet small enough that every tenth is exact.
_READABLE = 10**12


class Spec(NamedTuple):
    """One blind as asked for. Lengths are exact millimetres in whole tenths; what was not given is None."""

    system: str
    width_mm: Exact
    drop_mm: Exact
    size_basis: str
    vane_width_mm: int
    draw: str
    hand: str
    operation: str
    loop_control: str | None
    chain: str | None
    control_drop_mm: Exact | None
    measured_chain_mm: Exact | None
    installation_height_mm: Exact | None
    market: str
    fixing: str
    bottom: str
    fabric_g_per_m2: Exact


KEYS = Spec._fields
_KNOWN = frozenset(KEYS)


def read_spec(given: Mapping, system) -> tuple[Spec | None, list[dict]]:
    """The specification in `given`, held against `system`'s ranges, and every finding; None where one refuses."""
    values, found = read_values(given, systems={system.code: system})
    found += size_findings(values, system=system, **finished_sizes(values, system=system))
    return (None if refuses(found) else Spec(**values)), found


def read_values(given: Mapping, *, systems: Mapping) -> tuple[dict, list[dict]]:
    """Each value of `given` under its key, None where it is absent or refused, and every finding about them."""
    known = _KNOWN.issuperset(given)
    found = [] if known else [_unknown_key(key) for key in given if key not in _KNOWN]
    values = {}
    for key in KEYS:
        value = given.get(key)
        if type(value) is int and 0 < value <= _LIMITS.get(key, 0):
            values[key] = value
        elif value is None:
            values[key] = _DEFAULTS.get(key)
            if key not in _DEFAULTS and key not in _MAY_BE_ABSENT:
                found.append(_missing(key))
        else:
            values[key] = _read(key, value, systems, found)
    if values["operation"] == "cord_chain":
        found += [_missing(key) for key in ("loop_control", "chain") if given.get(key) is None]
    elif values["operation"] == "wand":
        found += _wand_findings(values)
    return values, found


def finished_sizes(values: Mapping, *, system) -> dict:
    """`width_mm` and `drop_mm` of the finished blind; None where the values do not tell."""
    sizes = {}
    for name, rule in (("width_mm", finished_width_mm), ("drop_mm", finished_drop_mm)):
        clearance_mm = clearance(values["size_basis"], name, system=system)
        known = values[name] is not None and clearance_mm is not None
        sizes[name] = rule(**{name: values[name]}, clearance_mm=clearance_mm) if known else None
    return sizes


def clearance(size_basis: str | None, name: str, *, system) -> Exact | None:
    """What comes off `name` for the size basis; None where the basis or, for a recess, the system is not known."""
    if size_basis == "exact":
        return 0
    if size_basis != "recess" or system is None:
        return None
    return system.recess_width_clearance_mm if name == "width_mm" else system.recess_drop_clearance_mm


def size_findings(values: Mapping, *, system, width_mm: Exact | None, drop_mm: Exact | None) -> list[dict]:
    """Refusals of finished sizes outside `system`'s range, ends included, and of a height less than the drop."""
    found = []
    if system is not None:
        found += _range_findings("width_mm", width_mm, (system.min_width_mm, system.max_width_mm), system=system)
        found += _range_findings("drop_mm", drop_mm, (system.min_drop_mm, system.max_drop_mm), system=system)
    height_mm = values["installation_height_mm"]
    if height_mm is not None and drop_mm is not None and height_mm < drop_mm:
        found.append(
            finding(
                code="height_below_drop",
                field="installation_height_mm",
                message=f"The installation height, floor to the top of the blind, is {mm(height_mm)}: less "
                f"than the finished drop of {mm(drop_mm)}. Measure both again, or leave the height out.",
                source="the blind would reach below the floor",
            )
        )
    return found


# How a size is out of range: below and above it, each with the limit's name and the way out.
_OUT_OF_RANGE = {
    "width_mm": (
        ("narrower", "narrowest", "Measure again, or pick another system."),
        ("wider", "widest", "Order two blinds, or pick another system."),
    ),
    "drop_mm": (
        ("shorter", "shortest", "Measure again, or pick another system."),
        ("longer", "longest", "Measure again, or pick another system."),
    ),
}


def _range_findings(field: str, size_mm: Exact | None, limits_mm: tuple[Exact, Exact], *, system) -> list[dict]:
    if size_mm is None:
        return []
    below, above = size_mm < limits_mm[0], size_mm > limits_mm[1]
    if not (below or above):
        return []
    than, end, way_out = _OUT_OF_RANGE[field][above]
    message = (
        f"The finished {field.removesuffix('_mm')} is {mm(size_mm)}, {than} than {mm(limits_mm[above])}, the {end} "
        f"that {system.code} is made in. {way_out}"
    )
    return [finding(code="out_of_range", field=field, message=message, source=system.said)]


def _read(key: str, value, systems: Mapping, found: list[dict]):
    choices = systems if key == "system" else _LISTS.get(key)
    if choices is not None:
        return _read_choice(key, value, choices, found)
    if key == "vane_width_mm":
        return _read_vane_width(value, found)
    return _read_number(key, value, found)


def _read_choice(key: str, value, choices, found: list[dict]) -> str | None:
    if type(value) is not str:
        found.append(_wrong_type(key, value, "text"))
    elif value not in choices:
        found.append(_not_in_list(key, value, choices))
    else:
        return value
    return None


def _read_vane_width(value, found: list[dict]) -> int | None:
    number = tenths(value)
    if number is None:
        found.append(_wrong_type("vane_width_mm", value, "a number"))
    elif number not in VANE_WIDTHS_MM:
        found.append(_not_in_list("vane_width_mm", value, [str(width) for width in VANE_WIDTHS_MM]))
    else:
        return number
    return None


def _read_number(key: str, value, found: list[dict]) -> Exact | None:
    number = tenths(value)
    if number is None:
        found.append(_wrong_type(key, value, "a number, whole or in tenths"))
        return None
    most = _LIMITS.get(key)
    if abs(number) >= _READABLE or (most is not None and not 0 < number <= most):
        limits = f"above 0 and at most {most}" if most is not None else "a size that can be measured"
        message = f"{key} is {shown(value)}; it must be {limits}. Correct it."
        found.append(finding(code="out_of_range", field=key, message=message, source=FORM))
        return None
    return number


def tenths(value) -> Exact | None:
    """`value` as an exact number in whole tenths; None where it is no finite number or has a finer part."""
    if type(value) is int:
        return value
    if type(value) is float:
        if not abs(value) < _READABLE:
            return _READABLE if isfinite(value) else None
        tenth = round(value * 10)
        if tenth / 10 != value:
            return None
        return ratio(tenth, 10)
    if isinstance(value, Decimal) and value.is_finite():
        if abs(value) >= _READABLE:
            return _READABLE
        tenth = value.quantize(Decimal("0.1"))
        return tenths(float(tenth)) if tenth == value else None
    return None


def shown(value) -> str:
    """`value` as a message repeats it: short, whatever was given."""
    try:
        text = repr(value)
    except ValueError:
        return "a number of thousands of digits"
    return text if len(text) <= 60 else f"{text[:57]}..."


def _unknown_key(key) -> dict:
    message = f"{shown(key)} is no key of a blind. Leave it out, or correct it to one of {', '.join(KEYS)}."
    return finding(code="unknown_key", field=key if isinstance(key, str) else shown(key), message=message, source=FORM)


def _missing(key: str) -> dict:
    choices = _LISTS.get(key)
    way_out = f"Give one of {', '.join(choices)}." if choices else "Give it."
    return finding(code="wrong_type", field=key, message=f"{key} is missing. {way_out}", source=FORM)


def _wrong_type(key: str, value, wanted: str) -> dict:
    message = f"{key} is {shown(value)}; it must be {wanted}. Correct it."
    return finding(code="wrong_type", field=key, message=message, source=FORM)


def _not_in_list(key: str, value, choices) -> dict:
    message = f"{key} is {shown(value)}; it must be one of {', '.join(choices)}. Pick one."
    return finding(code="not_in_list", field=key, message=message, source=FORM)


def _wand_findings(values: Mapping) -> list[dict]:
    found = []
    if values["draw"] == "reverse":
        other = {"left": "right", "right": "left"}.get(values["hand"], "other")
        message = (
            f"A wand blind has no control end, so there is none to draw reverse from. Order one_way with the {other} "
            f"hand instead."
        )
        found.append(finding(code="wand_reverse", field="draw", message=message, source=WAND))
    for key in ("control_drop_mm", "measured_chain_mm"):
        if values[key] is not None:
            message = f"{key} is {json_number(values[key])}, but a wand blind has no chain: it is left aside."
            found.append(finding(code="ignored_with_wand", field=key, message=message, source=WAND))
    return found
