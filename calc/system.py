"""A hardware system: the constants of the matched parts that a workshop buys, with its tolerances.

Every value of `DEMO_38` is invented for the demo in a plausible range, save those that the fields mark as common
practice. Lengths are millimetres; each number is an int or a Fraction, never a float. What a field
means stands beside it, with the part that it belongs to and its sane range, for the page where the workshop edits it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from fractions import Fraction
from functools import cached_property, lru_cache
from typing import Annotated, NamedTuple

from calc.breaches import breaches
from calc.rounding import Exact, exact, exact_text

__all__ = ["DEMO_38", "SYSTEMS", "Place", "System", "VaneParts", "breaches"]

_ABOVE = Fraction(1, 10), 50


class Place(NamedTuple):
    """Where a constant stands in the workshop's book, and between what it is sane, in the constant's own unit.

    The bounds are invented, wide enough for any hardware that hangs vanes of 89 or 127: they catch a slip of the pen
    and say nothing of what is good. Both are None where a constant is no number.
    """

    part: str
    least: Exact | None = None
    most: Exact | None = None


def _is(part: str, meaning: str, least: Exact, most: Exact, *, kind=Exact):
    return Annotated[kind, meaning, Place(part, least, most)]


def _class(meaning: str):
    return Annotated[str, meaning, Place("tolerances")]


@dataclass(frozen=True)
class VaneParts:
    """The parts that hang on the vane width."""

    link_pitch_mm: _is("carriers", "widest distance from carrier to carrier that a link allows", 30, 130)
    anchored_tube_one_way_mm: _is("tubes", "at the anchored end, one way", 0, 200)
    anchored_tube_reverse_mm: _is("tubes", "at the anchored end, reverse", 0, 200)
    anchored_tube_split_mm: _is("tubes", "at each end of a split blind (25 for 89 is common practice)", 0, 200)
    lead_tube_one_way_mm: _is("tubes", "at the lead carrier's end, one way", 0, 200)
    lead_tube_reverse_mm: _is("tubes", "at the lead carrier's end, reverse", 0, 200)
    bottom_weight_g: _is("vanes", "mass of one bottom weight", 5, 300)


@dataclass(frozen=True)
class System:
    """One revision of a hardware system. `breaches` says what is broken in it."""

    code: Annotated[str, "name that an order line carries"]
    revision: Annotated[int, "number of this revision, from 1"]
    source: Annotated[str, "where these values come from"]

    recess_width_clearance_mm: _is("limits", "taken off a recess width", 0, 100)
    recess_drop_clearance_mm: _is("limits", "taken off a recess drop", 0, 100)
    end_cover_mm: _is("ends", "thickness of one end cover, outboard of the rail", 0, 20)
    rod_shortfall_mm: _is("ends", "the tilt rod is this much shorter than the rail", 0, 100)
    control_inset_mm: _is("ends", "finished end of the blind to the inner face of the control end set", 5, 150)
    idle_inset_mm: _is("ends", "finished end of the blind to the inner face of the idle end set", 5, 150)
    carrier_body_mm: _is("carriers", "length of a carrier along the rail", 4, 40)
    lead_body_mm: _is("carriers", "length of a lead carrier along the rail", 4, 60)
    drop_loss_mm: _is("vanes", "headrail and hanger: finished drop less finished vane length", 5, 200)
    top_hem_mm: _is("vanes", "added to the vane for its top pocket", 0, 150)
    bottom_hem_mm: _is("vanes", "added to the vane for its bottom pocket", 0, 200)
    cord_over_chain_tensioner_mm: _is(
        "controls", "cord drop less measured chain drop, tensioner (20 is common practice)", 0, 100
    )
    cord_over_chain_breakaway_mm: _is("controls", "cord drop less measured chain drop, breakaway", 0, 100)
    cord_over_chain_weight_mm: _is("controls", "cord drop less measured chain drop, loop weight", 0, 100)
    ball_pitch_mm: _is("controls", "ball to ball along the chain; no standard found", 2, 20)
    control_share: _is("controls", "default chain drop as a share of the finished drop", Fraction(1, 10), 1)
    wand_share: _is("controls", "longest wand as a share of the finished drop", Fraction(1, 10), 1)
    wands_mm: _is("controls", "stocked wand lengths, shortest first", 100, 4000, kind=tuple[Exact, ...])
    bracket_inset_mm: _is("brackets", "rail's end to its end bracket", 0, 500)
    bracket_span_mm: _is("brackets", "widest spacing of brackets", 200, 2500)
    min_width_mm: _is("limits", "narrowest finished width", 100, 3000)
    max_width_mm: _is("limits", "widest finished width", 500, 10000)
    min_drop_mm: _is("limits", "shortest finished drop", 100, 3000)
    max_drop_mm: _is("limits", "longest finished drop", 500, 10000)
    rail_kg_per_m: _is("masses", "mass of the rail", Fraction(5, 100), 5)
    rod_kg_per_m: _is("masses", "mass of the tilt rod", Fraction(1, 100), 2)
    carrier_g: _is("masses", "mass of a carrier, lead carriers too", 1, 200)
    rail_rating_kg: _is("masses", "heaviest blind that the rail may carry", 1, 100)

    vane_89: Annotated[VaneParts, "parts for vanes of 89 mm"]
    vane_127: Annotated[VaneParts, "parts for vanes of 127 mm"]

    rail_class: _class("ISO 2768-1 class of the rail's cut")
    tilt_rod_class: _class("ISO 2768-1 class of the tilt rod's cut")
    vane_class: _class("ISO 2768-1 class of the vane's cut")
    spacer_tube_class: _class("ISO 2768-1 class of a spacer tube")
    cord_class: _class("ISO 2768-1 class of the cord's cut")
    chain_class: _class("ISO 2768-1 class of the chain's drop")
    above_4000_f_mm: _is("tolerances", "class f above 4000 mm, where the standard stops", *_ABOVE, kind=Exact | None)
    above_4000_m_mm: _is("tolerances", "class m above 4000 mm, where the standard stops", *_ABOVE, kind=Exact | None)
    above_4000_c_mm: _is("tolerances", "class c above 4000 mm, where the standard stops", *_ABOVE, kind=Exact | None)
    above_4000_v_mm: _is("tolerances", "class v above 4000 mm, where the standard stops", *_ABOVE, kind=Exact | None)
    link_tolerance_mm: _is("tolerances", "tolerance of one link's pitch", 0, 2)
    tape_class: _class("MID accuracy class of the workshop's tapes")

    def parts(self, *, vane_width_mm: int) -> VaneParts:
        """The parts for vanes of 89 or 127. Raises KeyError for any other width."""
        return self._parts[vane_width_mm]

    @cached_property
    def _parts(self) -> dict[int, VaneParts]:
        return {89: self.vane_89, 127: self.vane_127}

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def _hash(self) -> int:
        """Worked out once: what is kept of a system's ends is looked up by it for each blind."""
        return hash(tuple(getattr(self, one.name) for one in fields(self)))

    @cached_property
    def one(self) -> "System":
        """The first that was equal to this one: each page reads its own, and comparing two takes as long as a blind."""
        return _first(self)

    @cached_property
    def said(self) -> str:
        """The revision as a figure's working names it."""
        return f"system {self.code} revision {self.revision}: {self.source}"

    def to_dict(self) -> dict:
        """This revision as JSON keeps it exactly: whole numbers as such, others as text ("0.52", "2/3")."""
        return _to_dict(self)

    @classmethod
    def from_dict(cls, constants: Mapping) -> "System":
        """The revision that `to_dict` wrote. Raises ValueError that names each missing, unknown or unreadable field."""
        return _from_dict(cls, constants, within="")


@lru_cache(maxsize=256)
def _first(system: System) -> System:
    return system


_TEXTS = {"code", "source", "tape_class"} | {f"{part}_class" for part in ("rail", "tilt_rod", "vane", "cord", "chain")}
_TEXTS |= {"spacer_tube_class"}
_PARTS = {"vane_89", "vane_127"}


def _to_dict(record) -> dict:
    plain = {}
    for one in fields(record):
        value = getattr(record, one.name)
        if one.name in _PARTS:
            value = _to_dict(value)
        elif one.name == "wands_mm":
            value = [exact_text(wand) for wand in value]
        elif one.name not in _TEXTS and value is not None:
            value = exact_text(value)
        plain[one.name] = value
    return plain


def _from_dict(kind, constants: Mapping, *, within: str):
    names = [one.name for one in fields(kind)]
    troubles = [f"{within}{name} is missing" for name in names if name not in constants]
    troubles += [f"{within}{name} is no constant of a system" for name in constants if name not in names]
    values = {}
    for name in names:
        if name in constants:
            try:
                values[name] = _read(name, constants[name])
            except ValueError as trouble:
                troubles.append(f"{within}{name}: {trouble}")
    if troubles:
        raise ValueError("; ".join(troubles))
    return kind(**values)


def _read(name: str, value):
    if name in _PARTS:
        if not isinstance(value, Mapping):
            raise ValueError(f"{value!r} is no set of parts")
        return _from_dict(VaneParts, value, within=f"{name}.")
    if name in _TEXTS:
        if not isinstance(value, str):
            raise ValueError(f"{value!r} is not text")
        return value
    if name == "wands_mm":
        if not isinstance(value, list | tuple):
            raise ValueError(f"{value!r} is no list of lengths")
        return tuple(exact(wand) for wand in value)
    if value is None and name.startswith("above_4000_"):
        return None
    number = exact(value)
    if name == "revision" and not isinstance(number, int):
        raise ValueError(f"{value!r} is no whole number")
    return number


DEMO_38 = System(
    code="demo-38",
    revision=1,
    source="values invented for the demo",
    recess_width_clearance_mm=10,
    recess_drop_clearance_mm=12,
    end_cover_mm=3,
    rod_shortfall_mm=9,
    control_inset_mm=27,
    idle_inset_mm=20,
    carrier_body_mm=13,
    lead_body_mm=21,
    drop_loss_mm=42,
    top_hem_mm=25,
    bottom_hem_mm=45,
    cord_over_chain_tensioner_mm=20,
    cord_over_chain_breakaway_mm=0,
    cord_over_chain_weight_mm=0,
    ball_pitch_mm=6,
    control_share=Fraction(3, 4),
    wand_share=Fraction(3, 4),
    wands_mm=(500, 750, 1000, 1250, 1500),
    bracket_inset_mm=150,
    bracket_span_mm=900,
    min_width_mm=350,
    max_width_mm=5800,
    min_drop_mm=300,
    max_drop_mm=4000,
    rail_kg_per_m=Fraction(52, 100),
    rod_kg_per_m=Fraction(11, 100),
    carrier_g=9,
    rail_rating_kg=15,
    vane_89=VaneParts(
        link_pitch_mm=80,
        anchored_tube_one_way_mm=25,
        anchored_tube_reverse_mm=30,
        anchored_tube_split_mm=25,
        lead_tube_one_way_mm=20,
        lead_tube_reverse_mm=20,
        bottom_weight_g=32,
    ),
    vane_127=VaneParts(
        link_pitch_mm=117,
        anchored_tube_one_way_mm=45,
        anchored_tube_reverse_mm=50,
        anchored_tube_split_mm=45,
        lead_tube_one_way_mm=40,
        lead_tube_reverse_mm=40,
        bottom_weight_g=44,
    ),
    rail_class="m",
    tilt_rod_class="m",
    vane_class="c",
    spacer_tube_class="c",
    cord_class="v",
    chain_class="v",
    above_4000_f_mm=None,
    above_4000_m_mm=3,
    above_4000_c_mm=6,
    above_4000_v_mm=12,
    link_tolerance_mm=Fraction(15, 100),
    tape_class="II",
)

SYSTEMS = {DEMO_38.code: DEMO_38}
