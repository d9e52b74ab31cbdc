"""The row of carriers: where the outermost ones stand, how many there are, how they close and how they stack.

Every argument is an exact number; lengths are millimetres. A bunch is the carriers that gather at one end: one bunch on
one way and reverse, two on split, each with the same number of carriers, its lead carrier among them.
"""

from calc.rounding import Exact, ceil_ratio, half, ratio, total
from calc.trace import PIECES, figure

LEAST_GAP_MM = 15
HELD = 2


@figure(unit="mm", formula="inset_mm + tube_mm + body_mm / 2")
def outermost_mm(*, inset_mm: Exact, tube_mm: Exact, body_mm: Exact) -> Exact:
    """Finished end of the blind to the axis of the outermost carrier there, the blind closed.

    `inset_mm` and `tube_mm` are those of that end; `body_mm` is a carrier's at an anchored end, a lead carrier's where
    the lead carrier comes to stand.
    """
    return inset_mm + tube_mm + half(body_mm)


@figure(unit="mm", formula="finished_width_mm - outermost_left_mm - outermost_right_mm")
def span_mm(*, finished_width_mm: Exact, outermost_left_mm: Exact, outermost_right_mm: Exact) -> Exact:
    """Axis to axis of the two outermost carriers, the blind closed."""
    return finished_width_mm - total(outermost_left_mm, outermost_right_mm)


@figure(
    unit=PIECES,
    formula="bunches * ceil((ceil(span_mm / link_pitch_mm) + 1) / bunches)",
    name="carriers.total",
)
def carriers_total(*, span_mm: Exact, link_pitch_mm: Exact, bunches: int) -> int:
    """Carriers, one a vane: the fewest whose links reach across the span, on a split blind the next even number."""
    return bunches * ceil_ratio(ceil_ratio(span_mm, link_pitch_mm) + 1, bunches)


@figure(unit=PIECES, formula="carriers_total / bunches")
def bunch_carriers(*, carriers_total: int, bunches: int) -> int:
    """Carriers of one bunch."""
    return carriers_total // bunches


@figure(unit="mm", formula="max(span_mm - 2 * (bunch_carriers - 1) * link_pitch_mm, lead_body_mm)")
def centre_spacing_mm(*, span_mm: Exact, bunch_carriers: int, link_pitch_mm: Exact, lead_body_mm: Exact) -> Exact:
    """Axis to axis of a split blind's middle pair, closed: what full links leave, or the lead carriers touching."""
    return max(span_mm - 2 * (bunch_carriers - 1) * link_pitch_mm, lead_body_mm)


@figure(unit="mm", formula="vane_width_mm - centre_spacing_mm")
def centre_overlap_mm(*, vane_width_mm: int, centre_spacing_mm: Exact) -> Exact:
    """Overlap of a split blind's middle pair of vanes, closed."""
    return vane_width_mm - centre_spacing_mm


@figure(unit="mm", formula="span_mm / (carriers_total - 1)", name="closed_pitch_mm")
def closed_pitch_mm(*, span_mm: Exact, carriers_total: int) -> Exact:
    """Axis to axis of neighbours in one bunch, closed. At least two carriers."""
    return ratio(span_mm, carriers_total - 1)


@figure(
    unit="mm",
    formula="(span_mm - centre_spacing_mm) / (2 * (bunch_carriers - 1))",
    name="closed_pitch_mm",
)
def closed_pitch_split_mm(*, span_mm: Exact, bunch_carriers: int, centre_spacing_mm: Exact) -> Exact:
    """Axis to axis of neighbours in a split blind's bunches, closed. At least two carriers a bunch."""
    return ratio(span_mm - centre_spacing_mm, 2 * (bunch_carriers - 1))


@figure(unit="mm", formula="vane_width_mm - span_mm / (carriers_total - 1)", name="overlap_mm")
def overlap_mm(*, vane_width_mm: int, span_mm: Exact, carriers_total: int) -> Exact:
    """Overlap of neighbouring vanes in one bunch, closed: the vane width less the closed pitch."""
    pitches = carriers_total - 1
    return ratio(vane_width_mm * pitches - span_mm, pitches)


@figure(
    unit="mm",
    formula="vane_width_mm - (span_mm - centre_spacing_mm) / (2 * (bunch_carriers - 1))",
    name="overlap_mm",
)
def overlap_split_mm(*, vane_width_mm: int, span_mm: Exact, bunch_carriers: int, centre_spacing_mm: Exact) -> Exact:
    """Overlap of neighbouring vanes in a split blind's bunches, closed: the vane width less the closed pitch."""
    pitches = 2 * (bunch_carriers - 1)
    return ratio(vane_width_mm * pitches - (span_mm - centre_spacing_mm), pitches)


@figure(unit="mm", formula="carrier_body_mm")
def close_spacing_mm(*, carrier_body_mm: Exact) -> Exact:
    """Axis to axis of a held pair of carriers, close up."""
    return carrier_body_mm


@figure(unit="mm", formula="(carrier_body_mm + lead_body_mm) / 2", name="close_spacing_mm")
def close_spacing_to_lead_mm(*, carrier_body_mm: Exact, lead_body_mm: Exact) -> Exact:
    """Axis to axis of a held pair, close up, whose second is the lead carrier: every carrier of the bunch is held."""
    return half(carrier_body_mm + lead_body_mm)


@figure(
    unit="mm",
    formula="span_mm - 2 * ((bunch_carriers - 2) * link_pitch_mm + close_spacing_mm) - lead_body_mm",
    name="gap_check_mm",
)
def gap_check_split_mm(
    *, span_mm: Exact, bunch_carriers: int, link_pitch_mm: Exact, lead_body_mm: Exact, close_spacing_mm: Exact
) -> Exact:
    """Clear gap between the two lead carriers of a split blind, two carriers held back at each end."""
    return span_mm - 2 * ((bunch_carriers - HELD) * link_pitch_mm + close_spacing_mm) - lead_body_mm


@figure(
    unit="mm",
    formula="span_mm - ((carriers_total - held) * link_pitch_mm + (held - 2) * carrier_body_mm + close_spacing_mm)",
)
def gap_check_mm(
    *,
    span_mm: Exact,
    carriers_total: int,
    held: int,
    link_pitch_mm: Exact,
    carrier_body_mm: Exact,
    close_spacing_mm: Exact,
) -> Exact:
    """Clear gap between the lead carrier of one bunch and the far spacer tube, `held` (2 or 3) carriers held back.

    `close_spacing_mm` is that of the last held pair; it differs from a carrier body only where the whole bunch is held.
    """
    drawn_out = (carriers_total - held) * link_pitch_mm
    return span_mm - (drawn_out + (held - 2) * carrier_body_mm + close_spacing_mm)


def gap_with_two_held_mm(
    *, span_mm: Exact, carriers_total: int, link_pitch_mm: Exact, carrier_body_mm: Exact, lead_body_mm: Exact
) -> Exact:
    """The gap check of one bunch as it would be with two carriers held; in a bunch of two the second is the lead."""
    return gap_check_mm(
        span_mm=span_mm,
        carriers_total=carriers_total,
        held=HELD,
        link_pitch_mm=link_pitch_mm,
        carrier_body_mm=carrier_body_mm,
        close_spacing_mm=half(carrier_body_mm + lead_body_mm) if carriers_total == HELD else carrier_body_mm,
    )


def gap_check_held(*, gap_with_two_held_mm: Exact, carriers_total: int) -> int:
    """Carriers held back at the end of one bunch: 2, or 3 where 2 would leave too small a gap to prove the count.

    A bunch of two has no third to hold.
    """
    return min(HELD + 1, carriers_total) if gap_with_two_held_mm < LEAST_GAP_MM else HELD


@figure(
    unit="mm",
    formula="outermost_mm + (bunch_carriers - 2) * carrier_body_mm + (carrier_body_mm + lead_body_mm) / 2 "
    "+ lead_body_mm / 2",
)
def stack_mm(*, outermost_mm: Exact, bunch_carriers: int, carrier_body_mm: Exact, lead_body_mm: Exact) -> Exact:
    """What a drawn bunch covers from its finished end, vanes square to the glass. At least two carriers.

    It ends at the lead carrier's face, half a lead body beyond the lead carrier's axis.
    """
    lead_axis = outermost_mm + (bunch_carriers - 2) * carrier_body_mm + half(carrier_body_mm + lead_body_mm)
    return lead_axis + half(lead_body_mm)
