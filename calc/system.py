"""A hardware system: the constants of the matched parts that a workshop buys, with its tolerances.

Every value of `DEMO_38` is invented for the demo in a plausible range, save those that the fields mark as common
practice. Lengths are millimetres; each number is an int or a Fraction, never a float. What a field
means stands beside it, for the page where the workshop edits it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from fractions import Fraction
from functools import cached_property
from typing import Annotated

from calc.breaches import breaches
from calc.rounding import Exact, exact, exact_text

__all__ = ["DEMO_38", "SYSTEMS", "System", "VaneParts", "breaches"]


@dataclass(frozen=True)
class VaneParts:
    """The parts that hang on the vane width."""

    link_pitch_mm: Annotated[Exact, "widest distance from carrier to carrier that a link allows"]
    anchored_tube_one_way_mm: Annotated[Exact, "spacer tube at the anchored end, one way"]
    anchored_tube_reverse_mm: Annotated[Exact, "spacer tube at the anchored end, reverse"]
    anchored_tube_split_mm: Annotated[Exact, "spacer tube at each end of a split blind (25 for 89 is common practice)"]
    lead_tube_one_way_mm: Annotated[Exact, "spacer tube at the lead carrier's end, one way"]
    lead_tube_reverse_mm: Annotated[Exact, "spacer tube at the lead carrier's end, reverse"]
    bottom_weight_g: Annotated[Exact, "mass of one bottom weight"]


@dataclass(frozen=True)
class System:
    """One revision of a hardware system. `breaches` says what is broken in it."""

    code: Annotated[str, "name that an order line carries"]
    revision: Annotated[int, "number of this revision, from 1"]
    source: Annotated[str, "where these values come from"]

    recess_width_clearance_mm: Annotated[Exact, "taken off a recess width"]
    recess_drop_clearance_mm: Annotated[Exact, "taken off a recess drop"]
    end_cover_mm: Annotated[Exact, "thickness of one end cover, outboard of the rail"]
    rod_shortfall_mm: Annotated[Exact, "the tilt rod is this much shorter than the rail"]
    control_inset_mm: Annotated[Exact, "finished end of the blind to the inner face of the control end set"]
    idle_inset_mm: Annotated[Exact, "finished end of the blind to the inner face of the idle end set"]
    carrier_body_mm: Annotated[Exact, "length of a carrier along the rail"]
    lead_body_mm: Annotated[Exact, "length of a lead carrier along the rail"]
    drop_loss_mm: Annotated[Exact, "headrail and hanger: finished drop less finished vane length"]
    top_hem_mm: Annotated[Exact, "added to the vane for its top pocket"]
    bottom_hem_mm: Annotated[Exact, "added to the vane for its bottom pocket"]
    cord_over_chain_tensioner_mm: Annotated[
        Exact, "cord drop less measured chain drop, tensioner (20 is common practice)"
    ]
    cord_over_chain_breakaway_mm: Annotated[Exact, "cord drop less measured chain drop, breakaway"]
    cord_over_chain_weight_mm: Annotated[Exact, "cord drop less measured chain drop, loop weight"]
    ball_pitch_mm: Annotated[Exact, "ball to ball along the chain; no standard found"]
    control_share: Annotated[Exact, "default chain drop as a share of the finished drop"]
    wand_share: Annotated[Exact, "longest wand as a share of the finished drop"]
    wands_mm: Annotated[tuple[Exact, ...], "stocked wand lengths, shortest first"]
    bracket_inset_mm: Annotated[Exact, "rail's end to its end bracket"]
    bracket_span_mm: Annotated[Exact, "widest spacing of brackets"]
    min_width_mm: Annotated[Exact, "narrowest finished width"]
    max_width_mm: Annotated[Exact, "widest finished width"]
    min_drop_mm: Annotated[Exact, "shortest finished drop"]
    max_drop_mm: Annotated[Exact, "longest finished drop"]
    rail_kg_per_m: Annotated[Exact, "mass of the rail"]
    rod_kg_per_m: Annotated[Exact, "mass of the tilt rod"]
    carrier_g: Annotated[Exact, "mass of a carrier, lead carriers too"]
    rail_rating_kg: Annotated[Exact, "heaviest blind that the rail may carry"]

    vane_89: Annotated[VaneParts, "parts for vanes of 89 mm"]
    vane_127: Annotated[VaneParts, "parts for vanes of 127 mm"]

    rail_class: Annotated[str, "ISO 2768-1 class of the rail's cut"]
    tilt_rod_class: Annotated[str, "ISO 2768-1 class of the tilt rod's cut"]
    vane_class: Annotated[str, "ISO 2768-1 class of the vane's cut"]
    spacer_tube_class: Annotated[str, "ISO 2768-1 class of a spacer tube"]
    cord_class: Annotated[str, "ISO 2768-1 class of the cord's cut"]
    chain_class: Annotated[str, "ISO 2768-1 class of the chain's drop"]
    above_4000_f_mm: Annotated[Exact | None, "tolerance above 4000 mm, class f"]
    above_4000_m_mm: Annotated[Exact | None, "tolerance above 4000 mm, class m"]
    above_4000_c_mm: Annotated[Exact | None, "tolerance above 4000 mm, class c"]
    above_4000_v_mm: Annotated[Exact | None, "tolerance above 4000 mm, class v"]
    link_tolerance_mm: Annotated[Exact, "tolerance of one link's pitch"]
    tape_class: Annotated[str, "MID accuracy class of the workshop's tapes"]

    def parts(self, *, vane_width_mm: int) -> VaneParts:
        """The parts for vanes of 89 or 127. Raises KeyError for any other width."""
        return {89: self.vane_89, 127: self.vane_127}[vane_width_mm]

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
