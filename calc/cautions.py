"""What measuring can't decide on the parts of a hardware system, said when a revision is published."""

from collections.abc import Iterator

from calc.carriers import LEAST_GAP_MM
from calc.lengths import from_to, measured_cuts, pieces, rail_less_mm, widths
from calc.rounding import Exact, mm
from calc.tolerance import (
    ISO_2768_UP_TO_MM,
    can_decide,
    cut_tolerance_mm,
    gap_check_worst_case_mm,
    tape_error_mm,
)
from calc.widths import CASES, Case, Row, row_at, steps_mm


def cautions(system) -> list[str]:
    """What the tape can't decide and where the gap check can't prove the count; empty where both always can.

    `system` has no breaches.
    """
    return [*_undecided_cuts(system), *_unproven_counts(system)]


def _undecided_cuts(system) -> list[str]:
    """Each part and length where the tape errs by as much as the tolerance.

    Cord and chain are left out: the market's limit decides on a chain, the chain on a cord.
    """
    return [
        _said(system, part, low_mm, high_mm, tolerance_class)
        for part, name, least_mm, most_mm in measured_cuts(system)
        for low_mm, high_mm in pieces(least_mm, most_mm, by_metre=True)
        if not _decided(system, high_mm, tolerance_class := getattr(system, name))
    ]


def _decided(system, length_mm: Exact, tolerance_class: str) -> bool:
    allowed_mm = cut_tolerance_mm(length_mm=length_mm, tolerance_class=tolerance_class, system=system)
    return can_decide(tolerance_mm=allowed_mm, length_mm=length_mm, tape=system.tape_class)


def _said(system, part: str, low_mm: Exact, high_mm: Exact, tolerance_class: str) -> str:
    allowed_mm = cut_tolerance_mm(length_mm=high_mm, tolerance_class=tolerance_class, system=system)
    error_mm = tape_error_mm(length_mm=high_mm, tape_class=system.tape_class)
    return (
        f"{part} of {from_to(low_mm, high_mm)}: a class {system.tape_class} tape errs by {mm(error_mm)} and the "
        f"tolerance is {mm(allowed_mm)} (class {tolerance_class}), so it can decide nothing; measure with a better "
        f"instrument"
    )


def _unproven_counts(system) -> Iterator[str]:
    """Each case in which the parts of a right count can be off so far, all the same way, that no gap is left."""
    for vane_width_mm, parts in ((89, system.vane_89), (127, system.vane_127)):
        for case in CASES:
            rows = [row_at(system, parts, case, width_mm) for width_mm in _worst_widths(system, parts, case)]
            allowed = {row: _gap_tolerance_mm(system, parts, case, row) for row in rows}
            row = min(allowed, key=lambda row: row.gap_mm - allowed[row])
            if row.gap_mm <= allowed[row]:
                yield (
                    f"{vane_width_mm} mm vanes, {case.words}: at a finished width of {mm(row.width_mm)} the gap check "
                    f"is {mm(row.gap_mm)} and its tolerance {mm(allowed[row])}, so a right count can show no gap; "
                    f"count by another person, or lengthen link_pitch_mm {mm(parts.link_pitch_mm)}"
                )


def _worst_widths(system, parts, case: Case) -> Iterator[Exact]:
    """Where the gap is least or its tolerance steps up: the narrowest width, and on both sides of each turn."""
    sizes = widths(system)
    yield sizes.first_mm
    turns_mm = [length_mm + rail_less_mm(system) for length_mm in ISO_2768_UP_TO_MM]
    for step_mm in steps_mm(system, parts, case):
        # Two held first prove the count of one bunch where their gap comes to the least that does.
        turns_mm += [step_mm, step_mm + system.carrier_body_mm + LEAST_GAP_MM]
    for turn_mm in turns_mm:
        for width_mm in (sizes.last_to(turn_mm), sizes.first_above(turn_mm)):
            if width_mm is not None:
                yield width_mm


def _gap_tolerance_mm(system, parts, case: Case, row: Row) -> Exact:
    left_mm, right_mm = (
        cut_tolerance_mm(length_mm=getattr(parts, end.tube), tolerance_class=system.spacer_tube_class, system=system)
        for end in case.ends
    )
    rail_mm = row.width_mm - rail_less_mm(system)
    return gap_check_worst_case_mm(
        rail_mm=cut_tolerance_mm(length_mm=rail_mm, tolerance_class=system.rail_class, system=system),
        tube_left_mm=left_mm,
        tube_right_mm=right_mm,
        links=row.links,
        link_mm=system.link_tolerance_mm,
    )
