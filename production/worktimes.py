"""The minutes that a blind takes at a station: those that a workshop begins with, and those learned from its own work.

Pure: figures and events come in, minutes go out.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from itertools import product
from math import ceil
from statistics import median

from calc import flow

from . import route

NARROW_UPTO_MM, MIDDLE_UPTO_MM = 1200, 2400
NARROW, MIDDLE, WIDE = "narrow", "middle", "wide"
WIDTH_WORDS = {
    NARROW: f"up to {NARROW_UPTO_MM} mm",
    MIDDLE: f"up to {MIDDLE_UPTO_MM} mm",
    WIDE: f"over {MIDDLE_UPTO_MM} mm",
}
ENOUGH = 8
"""Learned minutes count once they come from so many blinds."""
LAST = 30
"""So many of a station's newest blinds of a kind are learned from."""
A_MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, order=True)
class Kind:
    """What makes one blind take longer than another."""

    split: bool
    looped: bool
    width: str

    def __str__(self):
        draw, control = "Split" if self.split else "One stack", "cord and chain" if self.looped else "wand"
        return f"{draw}, {control}, {WIDTH_WORDS[self.width]}"


KINDS = tuple(
    Kind(split=split, looped=looped, width=width)
    for split, looped, width in product((False, True), (False, True), (NARROW, MIDDLE, WIDE))
)


@dataclass(frozen=True)
class Start:
    """Minutes for a blind of middle width with one stack and a wand, and what each difference adds."""

    usual: int
    split: int = 0
    looped: int = 0
    narrow: int = 0
    wide: int = 0

    def minutes(self, kind):
        by_width = {NARROW: self.narrow, MIDDLE: 0, WIDE: self.wide}[kind.width]
        return self.usual + self.split * kind.split + self.looped * kind.looped + by_width


STARTS = {
    route.RAILING: Start(45, split=5, looped=5, narrow=-10, wide=15),
    route.VANES: Start(40, narrow=-15, wide=20),
    route.STRINGING: Start(30, split=10, looped=15, narrow=-5, wide=10),
    route.CHECKING: Start(15, split=2, looped=3, narrow=-3, wide=5),
    route.PACKING: Start(15, narrow=-3, wide=7),
}
"""The table that a workshop begins with: invented, no source."""
SETUP_MINUTES = {route.VANES: 8}
"""What a change of vane width takes where vanes are cut. Invented, no source."""


@dataclass(frozen=True)
class Minutes:
    """What a blind of one kind takes at one station. `learned` is None where nothing was finished yet."""

    start: int
    learned: int | None = None
    blinds: int = 0

    @property
    def by_learning(self):
        return self.blinds >= ENOUGH

    @property
    def counts(self):
        """The minutes that the plan reckons with."""
        return self.learned if self.by_learning else self.start


def kind_of(*, draw, operation, width_mm):
    width = NARROW if width_mm <= NARROW_UPTO_MM else MIDDLE if width_mm <= MIDDLE_UPTO_MM else WIDE
    return Kind(split=draw == "split", looped=operation == "cord_chain", width=width)


def kind_of_spec(spec):
    """The kind of a released blind, or of what a line asks for, by those three keys of it."""
    return kind_of(draw=spec["draw"], operation=spec["operation"], width_mm=spec["width_mm"])


def learned(*, events: Iterable[flow.Event], kinds: dict, zone) -> dict[tuple[str, Kind], list[int]]:
    """The whole minutes that each blind was in hand before it was finished, by station and kind, the newest last.

    `kinds` holds the kind of each blind. Pauses are left out, and so is work that was done anew; a blind that was in
    hand over midnight was forgotten there, and is left out as well.
    """
    spans = defaultdict(list)
    for span in flow.spans_in_hand(events=events):
        if span.attempt == 1 and span.ended_at is not None:
            spans[span.station, span.blind].append(span)
    took = defaultdict(list)
    for (station, blind), own in spans.items():
        if own[-1].ended_by == flow.FINISH and not any(_over_midnight(span, zone) for span in own):
            lasted = sum((span.ended_at - span.began_at for span in own), timedelta())
            took[station, kinds[blind]].append((own[-1].ended_at, max(1, -(-lasted // A_MINUTE))))
    return {key: [minutes for _, minutes in sorted(found)[-LAST:]] for key, found in took.items()}


def _over_midnight(span, zone):
    return span.began_at.astimezone(zone).date() != span.ended_at.astimezone(zone).date()


def table(took: dict[tuple[str, Kind], list[int]]) -> dict[tuple[str, Kind], Minutes]:
    """The minutes of every kind at every station: learned is the median, rounded up, of what was `took` lately."""
    return {
        (station, kind): _minutes(STARTS[station].minutes(kind), took.get((station, kind), []))
        for station in STARTS
        for kind in KINDS
    }


def _minutes(start, took):
    return Minutes(start, ceil(median(took)) if took else None, len(took))
