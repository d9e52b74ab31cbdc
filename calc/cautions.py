"""What the workshop's tape can't decide on the parts of a hardware system, said when a revision is published."""

from collections.abc import Iterator

from calc.rounding import Exact, mm
from calc.tolerance import ISO_2768_UP_TO_MM, can_decide, cut_tolerance_mm, tape_error_mm

METRE_MM = 1000


def cautions(system) -> list[str]:
    """Each part and length where the tape errs by as much as the tolerance; empty where it can decide everywhere.

    `system` has no breaches. Cord and chain are left out: the market's limit decides on a chain, the chain on a cord.
    """
    return [
        _said(system, part, low_mm, high_mm, tolerance_class)
        for part, least_mm, most_mm, tolerance_class in _cut_lengths(system)
        for low_mm, high_mm in _pieces(least_mm, most_mm)
        if not _decided(system, high_mm, tolerance_class)
    ]


def _cut_lengths(system) -> Iterator[tuple[str, Exact, Exact, str]]:
    covers_mm = 2 * system.end_cover_mm
    rails = system.min_width_mm - covers_mm, system.max_width_mm - covers_mm
    yield "rail", *rails, system.rail_class
    yield "tilt rod", *[rail_mm - system.rod_shortfall_mm for rail_mm in rails], system.tilt_rod_class
    hems_mm = system.top_hem_mm + system.bottom_hem_mm - system.drop_loss_mm
    yield "vane", system.min_drop_mm + hems_mm, system.max_drop_mm + hems_mm, system.vane_class
    for tube_mm in sorted(_tubes(system)):
        yield "spacer tube", tube_mm, tube_mm, system.spacer_tube_class


def _tubes(system) -> set[Exact]:
    lengths = {
        getattr(parts, f"{end}_tube_{draw}_mm")
        for parts in (system.vane_89, system.vane_127)
        for end, draw in (
            ("anchored", "one_way"),
            ("anchored", "reverse"),
            ("anchored", "split"),
            ("lead", "one_way"),
            ("lead", "reverse"),
        )
    }
    return lengths - {0}


def _pieces(least_mm: Exact, most_mm: Exact) -> Iterator[tuple[Exact, Exact]]:
    """`least_mm` to `most_mm` in pieces over which neither the tolerance nor the tape's error changes."""
    metres = range(METRE_MM, int(most_mm) + METRE_MM, METRE_MM)
    bounds = sorted({bound for bound in (*ISO_2768_UP_TO_MM, *metres) if least_mm < bound < most_mm})
    yield from zip((least_mm, *bounds), (*bounds, most_mm), strict=True)


def _decided(system, length_mm: Exact, tolerance_class: str) -> bool:
    allowed_mm = cut_tolerance_mm(length_mm=length_mm, tolerance_class=tolerance_class, system=system)
    return allowed_mm is not None and can_decide(tolerance_mm=allowed_mm, length_mm=length_mm, tape=system.tape_class)


def _said(system, part: str, low_mm: Exact, high_mm: Exact, tolerance_class: str) -> str:
    length = mm(high_mm) if low_mm == high_mm else f"{mm(low_mm)} to {mm(high_mm)}"
    allowed_mm = cut_tolerance_mm(length_mm=high_mm, tolerance_class=tolerance_class, system=system)
    if allowed_mm is None:
        return f"{part} of {length}: class {tolerance_class} gives no tolerance at that length; pick another class"
    error_mm = tape_error_mm(length_mm=high_mm, tape_class=system.tape_class)
    return (
        f"{part} of {length}: a class {system.tape_class} tape errs by {mm(error_mm)} and the tolerance is "
        f"{mm(allowed_mm)} (class {tolerance_class}), so it can decide nothing; measure with a better instrument"
    )
