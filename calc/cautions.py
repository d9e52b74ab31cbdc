"""What the workshop's tape can't decide on the parts of a hardware system, said when a revision is published."""

from calc.lengths import measured_cuts, pieces
from calc.rounding import Exact, mm
from calc.tolerance import can_decide, cut_tolerance_mm, tape_error_mm


def cautions(system) -> list[str]:
    """Each part and length where the tape errs by as much as the tolerance; empty where it can decide everywhere.

    `system` has no breaches. Cord and chain are left out: the market's limit decides on a chain, the chain on a cord.
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
    length = mm(high_mm) if low_mm == high_mm else f"{mm(low_mm)} to {mm(high_mm)}"
    allowed_mm = cut_tolerance_mm(length_mm=high_mm, tolerance_class=tolerance_class, system=system)
    error_mm = tape_error_mm(length_mm=high_mm, tape_class=system.tape_class)
    return (
        f"{part} of {length}: a class {system.tape_class} tape errs by {mm(error_mm)} and the tolerance is "
        f"{mm(allowed_mm)} (class {tolerance_class}), so it can decide nothing; measure with a better instrument"
    )
