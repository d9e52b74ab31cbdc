"""The workshop's book of constants: each constant of a hardware system, its name, unit, sane range and how it is typed.

A constant's key is its field, such as end_cover_mm, or for the parts by vane width vane_89.link_pitch_mm.
"""

import re
from dataclasses import dataclass, fields, replace
from functools import cache
from typing import get_type_hints

from calc.breaches import CLASSES, TAPE_CLASSES
from calc.rounding import Exact, exact, exact_text
from calc.system import DEMO_38, Place, System, VaneParts

PARTS = {
    "ends": "Ends",
    "carriers": "Carriers and links",
    "tubes": "Spacer tubes",
    "vanes": "Vanes",
    "controls": "Controls",
    "brackets": "Brackets",
    "limits": "Limits",
    "masses": "Masses",
    "tolerances": "Tolerances",
}
VANES = {"vane_89": 89, "vane_127": 127}
UNITS = (("_kg_per_m", "kg/m"), ("_mm", "mm"), ("_kg", "kg"), ("_g", "g"))
NUMBER, LENGTHS, CHOICE = "number", "lengths", "choice"
# Digits enough for any constant, and few enough that no number typed can burden the machine.
_TYPED = re.compile(r"-?[0-9]{1,7}(\.[0-9]{1,12})?|-?[0-9]{1,6}/(?!0+$)[0-9]{1,6}")


class Unreadable(ValueError):
    """What was typed is no value of the constant; the message repeats it and says what to type."""


@dataclass(frozen=True, kw_only=True)
class Constant:
    """One constant as the book has it; `least` and `most` bound a number, or each of a list of lengths."""

    key: str
    name: str
    words: str
    meaning: str
    part: str
    unit: str
    kind: str
    least: Exact | None
    most: Exact | None
    choices: tuple[str, ...]
    may_be_missing: bool
    vane_width_mm: int | None

    @property
    def range_words(self) -> str:
        """Its sane range in words, or its choices."""
        if self.kind == CHOICE:
            return f"one of {', '.join(self.choices)}"
        return f"{exact_text(self.least)} to {exact_text(self.most)} {self.unit}".strip()


@cache
def constants() -> tuple[Constant, ...]:
    """Every constant that a workshop edits, in the order of the book."""
    found = [_constant(one.name, System) for one in fields(System) if _place(System, one.name)]
    for vane, width_mm in VANES.items():
        found += [_constant(one.name, VaneParts, vane=vane, vane_width_mm=width_mm) for one in fields(VaneParts)]
    order = list(PARTS)
    names = [one.name for kind in (VaneParts, System) for one in fields(kind)]
    return tuple(sorted(found, key=lambda each: (order.index(each.part), names.index(each.name))))


@cache
def by_key() -> dict[str, Constant]:
    return {constant.key: constant for constant in constants()}


def _place(kind, name: str):
    return next((each for each in kind.__annotations__[name].__metadata__ if isinstance(each, Place)), None)


@cache
def meanings(kind) -> dict[str, str]:
    """What each field of `kind` means, as its definition says it."""
    hints = get_type_hints(kind, include_extras=True)
    return {one.name: hints[one.name].__metadata__[0] for one in fields(kind)}


def _constant(name: str, kind, *, vane: str = "", vane_width_mm: int | None = None) -> Constant:
    place = _place(kind, name)
    ending, unit = next(((ending, unit) for ending, unit in UNITS if name.endswith(ending)), ("", ""))
    choices = () if place.least is not None else TAPE_CLASSES if name == "tape_class" else CLASSES
    return Constant(
        key=f"{vane}.{name}" if vane else name,
        name=name,
        words=name.removesuffix(ending).replace("above_4000_", "above_4000_mm,_class_").replace("_", " ").capitalize(),
        meaning=meanings(kind)[name],
        part=place.part,
        unit=unit,
        kind=CHOICE if choices else LENGTHS if name == "wands_mm" else NUMBER,
        least=place.least,
        most=place.most,
        choices=choices,
        may_be_missing=name.startswith("above_4000_"),
        vane_width_mm=vane_width_mm,
    )


def value_of(system: System, key: str):
    """The value of the constant `key`: exact, text, a tuple of lengths, or None where it is not given."""
    vane, _, name = key.rpartition(".")
    return getattr(getattr(system, vane) if vane else system, name)


def with_values(system: System, values: dict) -> System:
    """`system` with the constants in `values`, by key."""
    plain = {key: value for key, value in values.items() if "." not in key}
    for vane in VANES:
        parts = {key.removeprefix(f"{vane}."): value for key, value in values.items() if key.startswith(f"{vane}.")}
        plain[vane] = replace(getattr(system, vane), **parts)
    return replace(system, **plain)


def shown(value) -> str:
    """A constant's value as it is typed: 0.52, 500, 750, f; nothing where it is not given."""
    if value is None:
        return ""
    if isinstance(value, tuple):
        return ", ".join(str(exact_text(each)) for each in value)
    return value if isinstance(value, str) else str(exact_text(value))


def typed(constant: Constant, text: str):
    """The value that `text` gives `constant`. Raises Unreadable."""
    text = text.strip()
    if not text:
        if constant.may_be_missing:
            return None
        raise Unreadable(f"Give it: {constant.range_words}, such as {_example(constant)}.")
    if constant.kind == CHOICE:
        if text not in constant.choices:
            raise Unreadable(f"“{_short(text)}” is no class. Choose {constant.range_words}.")
        return text
    if constant.kind == LENGTHS:
        return tuple(_number(constant, each) for each in re.split(r"[,;\s]+", text) if each)
    return _number(constant, text)


def _number(constant: Constant, text: str) -> Exact:
    if not _TYPED.fullmatch(text):
        raise Unreadable(
            f"“{_short(text)}” is not a number. Type digits only, with a point for decimals, such as "
            f"{_example(constant)}."
        )
    number = exact(text)
    outside = out_of_range(constant, number)
    if outside:
        raise Unreadable(outside)
    return number


def out_of_range(constant: Constant, value) -> str:
    """Why `value` is no sane value of `constant`, in words; empty where it is one."""
    if constant.kind == CHOICE or value is None:
        return ""
    outside = [each for each in (value if isinstance(value, tuple) else (value,)) if not _within(constant, each)]
    if not outside:
        return ""
    unit = f" {constant.unit}" if constant.unit else ""
    said = ", ".join(str(exact_text(each)) for each in outside)
    return f"{said}{unit} is outside the sane range, {constant.range_words}. Check the unit and the decimals."


def _within(constant: Constant, number: Exact) -> bool:
    return constant.least <= number <= constant.most


def all_out_of_range(system: System) -> list[str]:
    """Every constant of `system` outside its sane range, named with its value."""
    found = ((each.key, out_of_range(each, value_of(system, each.key))) for each in constants())
    return [f"{key}: {message}" for key, message in found if message]


def differing(system: System, other: System) -> list[Constant]:
    """The constants in which two revisions differ."""
    return [each for each in constants() if value_of(system, each.key) != value_of(other, each.key)]


def _example(constant: Constant) -> str:
    return shown(value_of(DEMO_38, constant.key)) or shown(constant.least)


def _short(text: str) -> str:
    return text if len(text) <= 40 else f"{text[:37]}..."
