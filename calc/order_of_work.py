"""In which order the orders that wait are worked on: promise day, rush, vane width in turn, least work.

An order stays together. Nothing here depends on which other orders wait, so that a new order comes between two others
and never swaps them. Common practice, no source: what it costs and saves is measured by script/planning_trials.py.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any


@dataclass(frozen=True, kw_only=True, slots=True)
class Work:
    """What one order still needs.

    `minutes` by station, whole and at least 0; a station that is left out has nothing to do. `first` is the first day
    on which it may be begun, `due` the day that was promised, None while none is. `widths` are those of its vanes, in
    mm. `whole` are the minutes of all its work, what is done among them, so that it keeps its place while it is made;
    None where `minutes` are all. `key` names the order and, between orders that are equal in all else, puts the lower
    one first.
    """

    key: Any
    minutes: Mapping[str, int]
    first: date
    due: date | None = None
    rush: bool = False
    widths: tuple[int, ...] = ()
    whole: int | None = None


def place(work: Work) -> tuple:
    """What puts orders into the order of work when they are sorted by it. Those without a promise come last."""
    day = work.due or date.max
    whole = sum(work.minutes.values()) if work.whole is None else work.whole
    return work.due is None, day, not work.rush, _signed(work), whole, work.key


def order_of_work(works: Iterable[Work]) -> list[Work]:
    """`works` in the order in which each station takes them, of those that wait there."""
    return sorted(works, key=place)


def widths_in_turn(work: Work) -> tuple[int, ...]:
    """The vane widths of an order, in mm, each once, in the order in which they are cut.

    Of the orders promised for one day those with narrow vanes come first, of the next day's those with wide ones, so
    that a day begins on the width that the day before ended with. Even ordinals of the day begin narrow: from Friday
    to Monday the turn goes on; a single closed day between two costs one change.
    """
    return tuple(abs(width) for width in _signed(work))


def _signed(work: Work) -> tuple[int, ...]:
    sign = -1 if work.due is not None and work.due.toordinal() % 2 else 1
    return tuple(sorted({sign * width for width in work.widths}))


def changes(*, mounted: int | None, widths: tuple[int, ...]) -> int:
    """How often a station that is set up for `mounted` mm, None for nothing yet, is changed to cut `widths` in turn."""
    if not widths:
        return 0
    return len(widths) - 1 + (mounted is not None and mounted != widths[0])
