"""The lengths that a hardware system's parts can come to, in pieces over which no tolerance changes."""

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from math import ceil
from typing import NamedTuple

from calc.rounding import Exact, ceil_ratio, mm, ratio
from calc.tolerance import ISO_2768_UP_TO_MM

METRE_MM = 1000
TENTH_MM = Fraction(1, 10)
# A chain is asked for by its drop; a shorter one than this is no control, and the spec takes none longer.
SHORTEST_CHAIN_MM, LONGEST_CHAIN_MM = 100, 5000


class Sizes:
    """The finished sizes that an order can come to: in tenths as typed, or in tenths less the recess clearance."""

    def __init__(self, *, least_mm: Exact, most_mm: Exact, clearance_mm: Exact):
        self._most_mm = most_mm
        self._beyond_a_tenth = (0, -clearance_mm)
        # Above the range where that holds no size at all.
        self.first_mm = min(ratio(ceil_ratio(least_mm - part, TENTH_MM), 10) + part for part in self._beyond_a_tenth)

    def first_above(self, length_mm: Exact) -> Exact | None:
        """The least size above `length_mm`, or None where the range ends before it."""
        next_mm = min(ratio((length_mm - part) // TENTH_MM + 1, 10) + part for part in self._beyond_a_tenth)
        found_mm = max(next_mm, self.first_mm)
        return found_mm if found_mm <= self._most_mm else None

    def last_to(self, length_mm: Exact) -> Exact | None:
        """The greatest size that is not above `length_mm`, or None where the range starts after it."""
        end_mm = min(length_mm, self._most_mm)
        found_mm = max(ratio((end_mm - part) // TENTH_MM, 10) + part for part in self._beyond_a_tenth)
        return found_mm if found_mm >= self.first_mm else None

    def last(self) -> Exact | None:
        """The greatest size, or None where the range holds none."""
        return self.last_to(self._most_mm)


class Cut(NamedTuple):
    """A part that is cut to length, the constant that classes it, and its shortest and longest."""

    part: str
    tolerance_class: str
    least_mm: Exact
    most_mm: Exact


def widths(system) -> Sizes:
    """The finished widths that `system` is made in."""
    return Sizes(
        least_mm=system.min_width_mm, most_mm=system.max_width_mm, clearance_mm=system.recess_width_clearance_mm
    )


def drops(system) -> Sizes:
    """The finished drops that `system` is made in."""
    return Sizes(least_mm=system.min_drop_mm, most_mm=system.max_drop_mm, clearance_mm=system.recess_drop_clearance_mm)


def rail_less_mm(system) -> Exact:
    """What the rail is shorter than the finished width."""
    return 2 * system.end_cover_mm


def rod_less_mm(system) -> Exact:
    """What the tilt rod is shorter than the finished width."""
    return rail_less_mm(system) + system.rod_shortfall_mm


def vane_more_mm(system) -> Exact:
    """What a vane as cut is longer than the finished drop; below 0 where it is shorter."""
    return system.top_hem_mm + system.bottom_hem_mm - system.drop_loss_mm


def measured_cuts(system) -> Iterator[Cut]:
    """The parts that a tape is held to: rail, tilt rod, vane and each length of spacer tube.

    There is a size in each range of `system`.
    """
    wide, high = widths(system), drops(system)
    for part, sizes, off_mm in (
        ("rail", wide, rail_less_mm(system)),
        ("tilt rod", wide, rod_less_mm(system)),
        ("vane", high, -vane_more_mm(system)),
    ):
        yield Cut(part, f"{part.replace(' ', '_')}_class", sizes.first_mm - off_mm, sizes.last() - off_mm)
    for tube_mm in sorted(set(tubes(system).values())):
        yield Cut("spacer tube", "spacer_tube_class", tube_mm, tube_mm)


def loop_cuts(system) -> Iterator[Cut]:
    """The chain and the cord, by the drops that may be asked for."""
    overs_mm = [getattr(system, f"cord_over_chain_{control}_mm") for control in ("tensioner", "breakaway", "weight")]
    less_mm = rail_less_mm(system)
    yield Cut("chain", "chain_class", SHORTEST_CHAIN_MM, LONGEST_CHAIN_MM)
    yield Cut(
        "cord",
        "cord_class",
        2 * (system.min_width_mm - less_mm + SHORTEST_CHAIN_MM + min(overs_mm)),
        2 * (system.max_width_mm - less_mm + LONGEST_CHAIN_MM + max(overs_mm)),
    )


def tubes(system) -> dict[tuple[int, str], Exact]:
    """Each spacer tube by its vane width and its constant's name."""
    names = [f"{end}_tube_{draw}_mm" for end in ("anchored", "lead") for draw in ("one_way", "reverse")]
    return {
        (width_mm, name): getattr(parts, name)
        for width_mm, parts in ((89, system.vane_89), (127, system.vane_127))
        for name in (*names, "anchored_tube_split_mm")
    }


def from_to(least_mm: Exact, most_mm: Exact) -> str:
    """A piece as a sentence says it."""
    return mm(most_mm) if least_mm == most_mm else f"{mm(least_mm)} to {mm(most_mm)}"


def pieces(least_mm: Exact, most_mm: Exact, *, by_metre: bool) -> Iterator[tuple[Exact, Exact]]:
    """`least_mm` to `most_mm` in pieces over which no tolerance changes, nor with `by_metre` a tape's error.

    A piece ends with its upper bound; only the first has its lower bound in it.
    """
    metres = range(METRE_MM, ceil(most_mm), METRE_MM) if by_metre else ()
    bounds = sorted({bound for bound in (*ISO_2768_UP_TO_MM, *metres) if least_mm < bound < most_mm})
    yield from pairwise((least_mm, *bounds, most_mm))
