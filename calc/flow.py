"""What a day's events add up to: finished by the hour, time in hand, blinds in hand on average, yield.

An event is what happened to one blind at one station. Times may be datetimes in UTC, or any exact numbers that can be
subtracted; nothing here reads a clock. The events of each blind come in the order in which they happened.
"""

from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from datetime import timedelta
from fractions import Fraction
from math import prod
from statistics import median
from typing import Any

START, PAUSE, RESUME, FINISH, SEND_BACK = "start", "pause", "resume", "finish", "send_back"
TAKES_IN_HAND = (START, RESUME)
LETS_GO = (PAUSE, FINISH, SEND_BACK)
MICROSECOND = timedelta(microseconds=1)


@dataclass(frozen=True, kw_only=True, slots=True)
class Event:
    """`attempt` counts the times that the blind was sent back to the station; `back_to` names where a fault goes."""

    blind: Hashable
    station: str
    kind: str
    attempt: int
    at: Any
    back_to: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Span:
    """A blind in hand at a station, without a break, from `began_at` to `ended_at` (None while it still is)."""

    blind: Hashable
    station: str
    attempt: int
    began_at: Any
    ended_at: Any = None
    ended_by: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Passes:
    """Blinds that were finished at a station for the first time, and how many of them were sent back there."""

    entered: int = 0
    reworked: int = 0


def finished_by_hour(*, events: Iterable[Event], start, end, zone) -> dict[str, Counter]:
    """Finished blinds by station and by hour of the clock in `zone`, of what happened from `start` up to `end`.

    The hour that a clock going back repeats counts as one.
    """
    counts = defaultdict(Counter)
    for event in events:
        if event.kind == FINISH and start <= event.at < end:
            counts[event.station][event.at.astimezone(zone).hour] += 1
    return dict(counts)


def spans_in_hand(*, events: Iterable[Event]) -> list[Span]:
    """Each time that a blind was in hand without a break, in the order in which it was let go; open ones last."""
    taken, spans = {}, []
    for event in events:
        key = (event.blind, event.station)
        if event.kind in TAKES_IN_HAND:
            taken[key] = event
        elif event.kind in LETS_GO and key in taken:
            spans.append(_span(taken.pop(key), ended_at=event.at, ended_by=event.kind))
    return spans + [_span(event) for event in taken.values()]


def _span(took, **end) -> Span:
    return Span(blind=took.blind, station=took.station, attempt=took.attempt, began_at=took.at, **end)


def time_in_hand(*, spans: Iterable[Span], start, end):
    """All the time in hand that falls between `start` and `end`, blind by blind; a span that is still open runs on.

    By Little's law, in its form for a window that cuts spans off, this is also the sum over time of how many blinds
    were in hand (Little, Operations Research 9, 1961; the identity for a finite window is arithmetic).
    """
    inside = ((max(span.began_at, start), end if span.ended_at is None else min(span.ended_at, end)) for span in spans)
    return sum((max(left - came, end - end) for came, left in inside), start=end - end)


def average_in_hand(*, spans: Iterable[Span], start, end) -> Fraction:
    """How many blinds were in hand between the datetimes `start` and `end`, on average. `end` is after `start`."""
    held = time_in_hand(spans=spans, start=start, end=end)
    return Fraction(held // MICROSECOND, (end - start) // MICROSECOND)


def median_time_in_hand(*, spans: Iterable[Span], start, end):
    """Median over the blinds finished from `start` up to `end` of the time each was in hand for it, pauses left out.

    None where none was finished. Each attempt counts by itself.
    """
    took, finished = {}, set()
    for span in (each for each in spans if each.ended_at is not None):
        key = (span.blind, span.station, span.attempt)
        took[key] = took.get(key, end - end) + (span.ended_at - span.began_at)
        if span.ended_by == FINISH and start <= span.ended_at < end:
            finished.add(key)
    return median(took[key] for key in finished) if finished else None


def first_passes(*, finished: dict[str, int], sent_back: Iterable[Event], start, end) -> dict[str, Passes]:
    """First passes by station, of what was finished from `start` up to `end`.

    `finished` counts every finish in that time by station; `sent_back` holds every finish and every fault, whenever,
    of the blinds that have ever been sent back, since only those can be finished twice. A fault counts against the
    station that it goes back to, also when it was found later.
    """
    firsts, repeats, faults = {}, Counter(), set()
    for event in sent_back:
        key = (event.station, event.blind)
        if event.kind == SEND_BACK:
            faults.add((event.back_to, event.blind))
        elif event.kind == FINISH and key not in firsts:
            firsts[key] = event.at
        elif event.kind == FINISH and start <= event.at < end:
            repeats[event.station] += 1
    reworked = Counter(
        station for (station, blind), at in firsts.items() if start <= at < end and (station, blind) in faults
    )
    return {
        station: Passes(entered=count - repeats[station], reworked=reworked[station])
        for station, count in finished.items()
    }


def first_pass_yield(*, entered: int, left: int, reworked: int = 0) -> Fraction | None:
    """The share of what entered a step that left it and needed no rework; None where nothing entered.

    0 <= reworked <= left <= entered, else ValueError. Source: the encyclopaedia article "First-pass yield".
    """
    if not 0 <= reworked <= left <= entered:
        raise ValueError(
            f"{reworked} reworked of {left} that left of {entered} that entered: each must hold the one before."
        )
    return Fraction(left - reworked, entered) if entered else None


def rolled_throughput_yield(*, yields: Iterable[Fraction | None]) -> Fraction | None:
    """The chance to come through every step without rework: the product; None where a step has no yield yet."""
    yields = list(yields)
    return None if None in yields else prod(yields, start=Fraction(1))
