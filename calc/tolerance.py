"""Tolerances of cut lengths, the error of the tape that measures them, and the decision between the two.

Lengths are millimetres. Tolerances and errors are the half-width of a band: +- that much.
"""

from bisect import bisect_left
from decimal import Decimal
from fractions import Fraction
from functools import cache, lru_cache
from math import isqrt
from typing import NamedTuple

from calc.rounding import Exact, exact, ratio
from calc.trace import Figure, Trace, figure

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
    return rail_mm + tube_left_mm + tube_right_mm + links * link_mm


@figure(
    unit="mm",
    formula="(rail_mm ** 2 + tube_left_mm ** 2 + tube_right_mm ** 2 + links * link_mm ** 2) ** 0.5",
    name="tolerances_mm.gap_check_mm.root_sum_square",
)
def gap_check_root_sum_square_mm(
    *, rail_mm: Exact, tube_left_mm: Exact, tube_right_mm: Exact, links: int, link_mm: Exact
) -> Exact:
    """Tolerance of the gap check where the parts are off independently; rounded to four places, half away from zero."""
    squares = rail_mm**2 + tube_left_mm**2 + tube_right_mm**2 + links * link_mm**2
    # Of x whole or not: the nearest whole number to its root is (floor(sqrt(4 x)) + 1) // 2; a root is never halfway.
    return ratio((isqrt(4 * 10**8 * squares // 1) + 1) // 2, 10**4)


def tolerances(job, *, made: dict, links: int, nominal_chain_mm: Exact | None) -> dict:
    """Every tolerance of a blind whose parts are `made`, each with its working; None where its figure is None.

    `links` is the number of links drawn out in the gap check. The chain's tolerance is that of its nominal drop.
    """
    trace, system, tubes_mm = job.trace, job.system, made["spacer_tubes_mm"]
    rail_mm = _cut_tolerance(trace, system, "rail_cut_mm", made["rail_cut_mm"], system.rail_class)
    rod_mm = _cut_tolerance(trace, system, "tilt_rod_cut_mm", made["tilt_rod_cut_mm"], system.tilt_rod_class)
    tubes = _tubes(system, tubes_mm["left"], tubes_mm["right"])
    trace.take(tubes.working)
    vane_mm = _cut_tolerance(trace, system, "vane_cut_mm", made["vanes"]["cut_mm"], system.vane_class)
    chain_mm = _cut_tolerance(trace, system, "chain_drop_mm", nominal_chain_mm, system.chain_class)
    cord_mm = _cut_tolerance(trace, system, "cord_cut_mm", made["cord_cut_mm"], system.cord_class)
    gap = _gap_check(system, rail_mm, tubes.left_mm, tubes.right_mm, links)
    trace.take(gap.working)
    return {
        "rail_cut_mm": rail_mm,
        "tilt_rod_cut_mm": rod_mm,
        "spacer_tubes_mm": {"left": tubes.left_mm, "right": tubes.right_mm},
        "vane_cut_mm": vane_mm,
        "chain_drop_mm": chain_mm,
        "cord_cut_mm": cord_mm,
        "gap_check_mm": {"worst_case": gap.worst_mm, "root_sum_square": gap.likely_mm},
    }


def _cut_tolerance(trace, system, name: str, length_mm: Exact | None, tolerance_class: str) -> Exact | None:
    if length_mm is None:
        return None
    allowed_mm = cut_tolerance_mm(length_mm=length_mm, tolerance_class=tolerance_class, system=system)
    if allowed_mm is not None:
        looked_up = _looked_up(name, tolerance_class, length_mm <= ISO_2768_UP_TO_MM[-1])
        trace.state(looked_up, allowed_mm, length_mm=length_mm, allowed_mm=allowed_mm)
    return allowed_mm


@cache
def _looked_up(name: str, tolerance_class: str, from_table: bool) -> Figure:
    source = f"{ISO_2768}, class {tolerance_class}" if from_table else "above 4000 mm the system states its own"
    return Figure(f"tolerances_mm.{name}", "mm", "allowed_mm", ("length_mm", "allowed_mm"), source)


class _Tubes(NamedTuple):
    left_mm: Exact | None
    right_mm: Exact | None
    working: Trace


# A system has a dozen tubes.
@lru_cache(maxsize=512)
def _tubes(system, left_mm: Exact, right_mm: Exact) -> _Tubes:
    """The tolerances of two tubes that are so long."""
    trace = Trace()
    allowed_mm = (
        _cut_tolerance(trace, system, f"spacer_tubes_mm.{side}", length_mm, system.spacer_tube_class)
        for side, length_mm in (("left", left_mm), ("right", right_mm))
    )
    return _Tubes(*allowed_mm, trace)


class _GapCheck(NamedTuple):
    worst_mm: Exact | None
    likely_mm: Exact | None
    working: Trace


# A workshop meets few different sets of tolerances, and fractions are slow to square.
@lru_cache(maxsize=4096)
def _gap_check(system, rail_mm: Exact | None, left_mm: Exact | None, right_mm: Exact | None, links: int) -> _GapCheck:
    trace = Trace()
    if None in (rail_mm, left_mm, right_mm):
        return _GapCheck(None, None, trace)
    parts = {"rail_mm": rail_mm, "tube_left_mm": left_mm, "tube_right_mm": right_mm}
    parts |= {"links": links, "link_mm": system.link_tolerance_mm}
    worst_mm = trace.add(gap_check_worst_case_mm, **parts)
    return _GapCheck(worst_mm, trace.add(gap_check_root_sum_square_mm, **parts), trace)


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
