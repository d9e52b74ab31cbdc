"""Tolerances of cut lengths, the error of the tape that measures them, and the decision between the two.

Lengths are millimetres. Tolerances and errors are the half-width of a band: +- that much.
"""

from bisect import bisect_left
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from math import isqrt

from calc.rounding import Exact, exact, ratio
from calc.trace import figure

ISO_2768 = "ISO 2768-1:1989 table 1, seen in two agreeing copies"
# Upper ends of the length ranges, inclusive ("above ... up to"); the first range starts at 0.5.
ISO_2768_UP_TO_MM = (3, 6, 30, 120, 400, 1000, 2000, 4000)
# Hundredths of a millimetre; None where the standard gives no value. The first two of class c differ between copies.
ISO_2768_HUNDREDTHS = {
    "f": (5, 5, 10, 15, 20, 30, 50, None),
    "m": (10, 10, 20, 30, 50, 80, 120, 200),
    "c": (20, 30, 50, 80, 120, 200, 300, 400),
    "v": (None, 50, 100, 150, 250, 400, 600, 800),
}
_ISO_2768_MM = {
    letter: tuple(None if cell is None else ratio(cell, 100) for cell in row)
    for letter, row in ISO_2768_HUNDREDTHS.items()
}

MID = "directive 2014/32/EU annex X chapter 1, read in UK SI 2016/1153 schedule 1I"
# Tenths of a millimetre: a, b and c of each accuracy class; c is the hook's, or another terminal surface's.
MID_TENTHS = {"I": (1, 1, 1), "II": (3, 2, 2), "III": (6, 4, 3)}

WITHIN, DOUBTFUL, OUTSIDE = "within", "doubtful", "outside"


def iso_2768_mm(*, length_mm: Exact, tolerance_class: str) -> Exact | None:
    """Tolerance of a linear dimension by ISO 2768-1 table 1, class f, m, c or v; None where the table has no value.

    Raises KeyError for another class.
    """
    row = _ISO_2768_MM[tolerance_class]
    if length_mm > ISO_2768_UP_TO_MM[-1] or 2 * length_mm < 1:
        return None
    return row[bisect_left(ISO_2768_UP_TO_MM, length_mm)]


def cut_tolerance_mm(*, length_mm: Exact, tolerance_class: str, system) -> Exact | None:
    """Tolerance of a cut length: the standard's, or above 4000 mm, where its table stops, the system's own."""
    if length_mm > ISO_2768_UP_TO_MM[-1]:
        return getattr(system, f"above_4000_{tolerance_class}_mm")
    return iso_2768_mm(length_mm=length_mm, tolerance_class=tolerance_class)


# A workshop meets few different sets of tolerances, and fractions are slow to square.
@lru_cache(maxsize=4096)
def _gap_check_mm(rail_mm: Exact, tube_left_mm: Exact, tube_right_mm: Exact, links: int, link_mm: Exact) -> tuple:
    worst_mm = rail_mm + tube_left_mm + tube_right_mm + links * link_mm
    squares = rail_mm**2 + tube_left_mm**2 + tube_right_mm**2 + links * link_mm**2
    # Of x whole or not: the nearest whole number to its root is (floor(sqrt(4 x)) + 1) // 2; a root is never halfway.
    ten_thousandths = (isqrt(4 * 10**8 * squares // 1) + 1) // 2
    return worst_mm, ratio(ten_thousandths, 10**4)


@figure(
    unit="mm",
    formula="rail_mm + tube_left_mm + tube_right_mm + links * link_mm",
    name="tolerances_mm.gap_check_mm.worst_case",
)
def gap_check_worst_case_mm(
    *, rail_mm: Exact, tube_left_mm: Exact, tube_right_mm: Exact, links: int, link_mm: Exact
) -> Exact:
    """Tolerance of the gap check where every part is off by its whole tolerance, and all the same way.

    The rail's, each tube's on the way and, `links` times, that of each link drawn out.
    """
    return _gap_check_mm(rail_mm, tube_left_mm, tube_right_mm, links, link_mm)[0]


@figure(
    unit="mm",
    formula="(rail_mm ** 2 + tube_left_mm ** 2 + tube_right_mm ** 2 + links * link_mm ** 2) ** 0.5",
    name="tolerances_mm.gap_check_mm.root_sum_square",
)
def gap_check_root_sum_square_mm(
    *, rail_mm: Exact, tube_left_mm: Exact, tube_right_mm: Exact, links: int, link_mm: Exact
) -> Exact:
    """Tolerance of the gap check where the parts are off independently; rounded to four places, half away from zero."""
    return _gap_check_mm(rail_mm, tube_left_mm, tube_right_mm, links, link_mm)[1]


def tolerances(job, *, made: dict, links: int, nominal_chain_mm: Exact | None) -> dict:
    """Every tolerance of a blind whose parts are `made`, each with its working; None where its figure is None.

    `links` is the number of links drawn out in the gap check. The chain's tolerance is that of its nominal drop.
    """
    system = job.system
    lengths = {
        "rail_cut_mm": (made["rail_cut_mm"], system.rail_class),
        "tilt_rod_cut_mm": (made["tilt_rod_cut_mm"], system.tilt_rod_class),
        "spacer_tubes_mm.left": (made["spacer_tubes_mm"]["left"], system.spacer_tube_class),
        "spacer_tubes_mm.right": (made["spacer_tubes_mm"]["right"], system.spacer_tube_class),
        "vane_cut_mm": (made["vanes"]["cut_mm"], system.vane_class),
        "chain_drop_mm": (nominal_chain_mm, system.chain_class),
        "cord_cut_mm": (made["cord_cut_mm"], system.cord_class),
    }
    found = {name: _cut_tolerance(job, name, *length) for name, length in lengths.items()}
    left_mm, right_mm = found.pop("spacer_tubes_mm.left"), found.pop("spacer_tubes_mm.right")
    parts = {"rail_mm": found["rail_cut_mm"], "tube_left_mm": left_mm, "tube_right_mm": right_mm}
    return {
        "rail_cut_mm": found["rail_cut_mm"],
        "tilt_rod_cut_mm": found["tilt_rod_cut_mm"],
        "spacer_tubes_mm": {"left": left_mm, "right": right_mm},
        "vane_cut_mm": found["vane_cut_mm"],
        "chain_drop_mm": found["chain_drop_mm"],
        "cord_cut_mm": found["cord_cut_mm"],
        "gap_check_mm": _gap_check(job, {**parts, "links": links, "link_mm": system.link_tolerance_mm}),
    }


def _cut_tolerance(job, name: str, length_mm: Exact | None, tolerance_class: str) -> Exact | None:
    if length_mm is None:
        return None
    allowed_mm = cut_tolerance_mm(length_mm=length_mm, tolerance_class=tolerance_class, system=job.system)
    if allowed_mm is not None:
        from_table = length_mm <= ISO_2768_UP_TO_MM[-1]
        job.trace.state(
            f"tolerances_mm.{name}",
            allowed_mm,
            "mm",
            "allowed_mm",
            {"length_mm": length_mm, "allowed_mm": allowed_mm},
            f"{ISO_2768}, class {tolerance_class}" if from_table else "above 4000 mm the system states its own",
        )
    return allowed_mm


def _gap_check(job, parts: dict) -> dict:
    if None in parts.values():
        return {"worst_case": None, "root_sum_square": None}
    return {
        "worst_case": job.trace.add(gap_check_worst_case_mm, **parts),
        "root_sum_square": job.trace.add(gap_check_root_sum_square_mm, **parts),
    }


def tape_error_mm(*, length_mm: int | float | Decimal | Fraction, tape_class="II", from_hook=False) -> Exact:
    """Greatest permissible error of a tape over `length_mm`: a + b L, c more from the hook.

    L is the length in metres, rounded up and at least one: who finds no gap at all has held the tape to it too.
    Raises KeyError for a class other than I, II and III, ValueError for a length that is no number. Source: `MID`.
    """
    a, b, c = MID_TENTHS[tape_class]
    metres = max(1, -(-exact(length_mm) // 1000))
    return ratio(a + b * metres + (c if from_hook else 0), 10)


def can_decide(*, tolerance_mm, length_mm, tape="II", from_hook=False) -> bool:
    """Whether the instrument can accept anything: its error is less than the tolerance. `tape` as in `verdict`."""
    return _error_mm(length_mm, tape, from_hook) < exact(tolerance_mm)


def verdict(*, measured_mm, nominal_mm, tolerance_mm, tape="II", from_hook=False) -> str:
    """'within', 'doubtful' or 'outside', by the decision rule of ISO 14253-1 (as summarised, not read in full).

    Within: inside the tolerance by at least the instrument's error. Outside: beyond it by more than that. Doubtful: in
    between, and wherever the error is as large as the tolerance, since then nothing can be accepted: take a better
    instrument. `tape` is a tape's accuracy class, or the error of another instrument in mm (a caliper: 0.05).
    Numbers may be int, float as typed, Decimal or Fraction. Raises ValueError where one is no number.
    """
    off_mm = abs(exact(measured_mm) - exact(nominal_mm))
    tolerance_mm = exact(tolerance_mm)
    error_mm = _error_mm(measured_mm, tape, from_hook)
    if off_mm > tolerance_mm + error_mm:
        return OUTSIDE
    if error_mm < tolerance_mm and off_mm <= tolerance_mm - error_mm:
        return WITHIN
    return DOUBTFUL


def _error_mm(length_mm, tape, from_hook: bool) -> Exact:
    if isinstance(tape, str):
        return tape_error_mm(length_mm=length_mm, tape_class=tape, from_hook=from_hook)
    return exact(tape)
