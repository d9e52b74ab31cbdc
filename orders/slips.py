"""Likely slips in what was ordered, as questions: nothing here refuses, and a size that is right stays as it is.

Each question says the values and what to compare. How near and how far counts as a slip is common practice, no source:
the limits below are ours, chosen so that rooms as they usually are raise no question, and tests hold them to it.
"""

import hashlib
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from math import log

SWAPPED, UNIT, FAR, BASES = "swapped", "unit", "far", "bases"

ALIKE = 0.02
"""Two sizes are alike within this share of each other: windows of one room differ by less."""
SAME_BLIND = 0.01
"""A size is another blind's in another unit within this share of it."""
APART = 0.10
"""Two sizes of one room that differ by more than this share were not meant to be one."""
FAR_WIDTH, FAR_DROP = 5, Fraction(5, 2)
"""How many times wider or longer than the nearest of its room a blind is questioned: a bay beside a narrow light is
ordinary, a door beside a window too."""
HIGH_MM, LOW_MM = 3000, 2700
"""A drop above the first is higher than most rooms; a width up to the second could be a drop."""
MOST_SIZES = 60
"""Where so many sizes stand under one name, it is no name of a room, and tells nothing."""

# What was meant, as a multiple of what was read, and the words for it.
UNITS = (
    (Fraction(254, 100), "inches read as centimetres"),
    (Fraction(100, 254), "centimetres read as inches"),
    (Fraction(10), "centimetres read as millimetres"),
    (Fraction(1, 10), "millimetres read as centimetres"),
)
# A size under the system's least is nothing but a slip of the unit; what it could have been.
SMALL_UNITS = ((10, "cm"), (Fraction(254, 10), "in"))


@dataclass(frozen=True, kw_only=True)
class Sized:
    """A line as far as slips go; lengths in millimetres, None or "" for what isn't said yet.

    `number` is what the line is called on its page; `least_mm` and `most_mm` are width and drop between which its
    system is made.
    """

    number: int
    room: str = ""
    size_basis: str = ""
    width_mm: Decimal | int | None = None
    drop_mm: Decimal | int | None = None
    least_mm: tuple = (350, 300)
    most_mm: tuple = (5800, 4000)

    @cached_property
    def place(self):
        """The room as it is compared: 'Bay 1' and 'bay 2' are one room."""
        return " ".join(self.room.casefold().rstrip("0123456789 .-#").split())

    @cached_property
    def wide(self):
        """Its width as a plain number, for comparing many with many."""
        return float(self.width_mm)

    @cached_property
    def high(self):
        return float(self.drop_mm)

    @property
    def sized(self):
        return self.width_mm is not None and self.drop_mm is not None

    def __str__(self):
        return f"line {self.number} ({self.room})" if self.room else f"line {self.number}"

    @property
    def size(self):
        return f"{plain(self.width_mm)} × {plain(self.drop_mm)}"

    @property
    def figures(self):
        """What an answer about this line holds for."""
        return f"{self.size_basis} {self.size}"


@dataclass(frozen=True, kw_only=True)
class Question:
    """What looks like a slip, in the line `number` or, where that is None, in the order; `figures` were looked at."""

    code: str
    number: int | None
    figures: str
    message: str


def questions(lines: Sequence[Sized]) -> list[Question]:
    """Every question about `lines`, those of the order as a whole first; one at most about each line."""
    sized = [line for line in lines if line.sized]
    rooms, sizes = _rooms(sized), _Sizes(sized)
    found = {line.number: _swapped(line, rooms(line)) or _unit(line, rooms(line), sizes) for line in sized}
    # What is questioned already is no measure for the others.
    rooms = _rooms([line for line in sized if not found[line.number]])
    asked = [_bases(lines), *(found[line.number] or _far(line, rooms(line)) for line in sized)]
    return [each for each in asked if each]


def _rooms(lines):
    """A function that gives the other lines in a line's room: two of each size, which is as good as all of them."""
    by_place = {}
    for line in lines:
        if line.place:
            same = by_place.setdefault(line.place, {}).setdefault((line.wide, line.high), [])
            if len(same) < 2:
                same.append(line)
    rooms = {
        place: [line for same in of_size.values() for line in same]
        for place, of_size in by_place.items()
        if len(of_size) <= MOST_SIZES
    }
    return lambda line: [each for each in rooms.get(line.place, ()) if each is not line]


class _Sizes:
    """Lines by their width, to find those of about one size among many."""

    def __init__(self, lines):
        self.lines = sorted(lines, key=lambda line: line.wide)
        self.wides = [line.wide for line in self.lines]

    def near(self, wide, high):
        """The lines of about that size, the first entered first."""
        first = bisect_left(self.wides, wide / (1 + SAME_BLIND))
        last = bisect_right(self.wides, wide / (1 - SAME_BLIND))
        found = [line for line in self.lines[first:last] if _near(high, line.high, SAME_BLIND)]
        return sorted(found, key=lambda line: line.number)


def _about(line, code, message):
    return Question(code=code, number=line.number, figures=f"{line.figures} {line.place}"[:300], message=message)


# Recess and exact mixed.


def _bases(lines):
    """The lines of the basis that fewer have are named; where as many have each, those that are exact."""
    by_basis = {basis: [line for line in lines if line.size_basis == basis] for basis in ("exact", "recess")}
    if not all(by_basis.values()):
        return None
    few, many = sorted(by_basis, key=lambda basis: len(by_basis[basis]))
    named = by_basis[few]
    message = (
        f"{_capital(_lines(named))} {'is' if len(named) == 1 else 'are'} {few}, and {_lines(by_basis[many])} "
        f"{'is' if len(by_basis[many]) == 1 else 'are'} {many}. A clearance comes off a recess size and none off an "
        "exact one: ask for each whether the opening or the finished blind was measured."
    )
    return Question(code=BASES, number=None, figures=print_of(sorted(line.figures for line in named)), message=message)


def _lines(lines):
    if len(lines) > 3:
        return f"{len(lines)} lines"
    said = [f"{line} {line.size}" if line.sized else str(line) for line in lines]
    text = said[0] if len(said) == 1 else f"{', '.join(said[:-1])} and {said[-1]}"
    return text


def _capital(text):
    return text[:1].upper() + text[1:]


# Width and drop swapped.


def _swapped(line, room):
    width, drop = line.width_mm, line.drop_mm
    twins = [each for each in room if _near(line.wide, each.high, ALIKE)]
    if twins and all(not _near(line.high, each.high, APART) for each in room):
        nearest = min(twins, key=lambda each: _apart(line.high, each.wide))
        straight = _apart(line.wide, nearest.wide) + _apart(line.high, nearest.high)
        # Of two that mirror each other the one entered later is asked about.
        mirrored = len(room) == 1 and _near(line.high, nearest.wide, ALIKE) and nearest.number > line.number
        if not mirrored and _apart(line.wide, nearest.high) + _apart(line.high, nearest.wide) < straight / 2:
            return _about(
                line,
                SWAPPED,
                f"Width {plain(width)} and drop {plain(drop)} look swapped: {plain(width)} is the drop of "
                f"{nearest}, {nearest.size}, in the same room, and {plain(drop)} is no drop there. "
                "Compare it with the measurement: width first, then drop.",
            )
    level = any(_near(line.high, each.high, APART) for each in room)
    if drop > HIGH_MM and line.least_mm[0] <= width <= LOW_MM and not level:
        return _about(
            line,
            SWAPPED,
            f"Width {plain(width)} and drop {plain(drop)} may be swapped: a drop of {plain(drop)} is higher than most "
            f"rooms, and {plain(width)} could be a drop. Compare it with the measurement: width first, then drop.",
        )
    return None


# The wrong unit.


def _unit(line, room, sizes):
    if small := _too_small(line):
        return small
    own = len(sizes.near(line.wide, line.high))
    for factor, words in UNITS:
        width, drop = Fraction(line.width_mm) * factor, Fraction(line.drop_mm) * factor
        same = sizes.near(float(width), float(drop))
        # Whichever size more lines have stands; where as many have each, the one entered later is asked about.
        # Among many sizes one of each is chance.
        fewer = len(same) > own or (
            len(same) == own and same[0].number < line.number and len(sizes.lines) <= MOST_SIZES
        )
        near = same[0] if fewer else _of_the_rooms_drop(float(drop), room)
        if near:
            return _about(
                line,
                UNIT,
                f"{line.size} mm may be {words}: {_tenths(width)} × {_tenths(drop)} mm would be near {near}, "
                f"{near.size}. Look at the unit beside the measurement, and type it too, such as 72 in.",
            )
    return None


def _of_the_rooms_drop(high, room):
    """The first of the room, where `high` is the one drop of all in it, two of them at least; else None."""
    return room[0] if len(room) > 1 and all(_near(high, each.high, ALIKE) for each in room) else None


def _too_small(line):
    for name, size, least, most in zip(
        ("width", "drop"), (line.width_mm, line.drop_mm), line.least_mm, line.most_mm, strict=True
    ):
        if size >= least:
            continue
        meant = [
            f"{plain(size)} {unit} = {_tenths(Fraction(size) * factor)} mm"
            for factor, unit in SMALL_UNITS
            if least <= Fraction(size) * factor <= most
        ]
        if meant:
            return _about(
                line,
                UNIT,
                f"A {name} of {plain(size)} mm is less than any blind of its system. If it was measured as "
                f"{' or '.join(meant)}, type the unit too. Look at the unit beside the measurement.",
            )
    return None


# Far from the room's other blinds.


def _far(line, room):
    """Of two blinds that are far from each other the one entered later is asked about."""
    if not room or (len(room) == 1 and room[0].number > line.number):
        return None
    for name, field, far in (("width", "wide", FAR_WIDTH), ("drop", "high", FAR_DROP)):
        size, said = getattr(line, field), plain(getattr(line, f"{name}_mm"))
        nearest = min(room, key=lambda each, field=field, size=size: _apart(size, getattr(each, field)))
        if _apart(size, getattr(nearest, field)) > log(far):
            return _about(
                line,
                FAR,
                f"A {name} of {said} is far from the room's other blinds: the nearest is {nearest}, "
                f"{nearest.size}. Compare both with the measurement, or ask again.",
            )
    return None


def print_of(texts) -> str:
    """A short print of `texts`: the same for the same ones in the same order."""
    return hashlib.sha256("\n".join(texts).encode()).hexdigest()[:32]


def plain(size) -> str:
    """A length in millimetres without needless noughts."""
    if size is None:
        return "?"
    return f"{Decimal(size).normalize():f}"


def _tenths(exact):
    return plain(Decimal(round(exact * 10)) / 10)


def _apart(one, other):
    """How far two lengths above 0 are from each other, as the logarithm of their ratio: 0 for the same."""
    return abs(log(one / other))


def _near(one, other, share):
    return abs(one - other) <= other * share
