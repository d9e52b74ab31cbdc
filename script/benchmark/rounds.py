"""Times a piece of work beside its floor: in turns, so that both meet the same load, each in its own rounds."""

import gc
import os
import statistics
import time
from collections.abc import Callable
from typing import NamedTuple


class Spent(NamedTuple):
    """Seconds on the clock, and of processor: this process and its children that have ended."""

    seconds: float
    processor: float


def spent(work: Callable) -> Spent:
    """What one run of `work` takes; it has nothing to clear away of what was run before it."""
    gc.collect()
    return spent_on_part(work)


def spent_on_part(work: Callable) -> Spent:
    """What one part of a piece of work takes, within its own run: nothing is cleared away before it."""
    before, began = _processor(), time.perf_counter()
    work()
    return Spent(time.perf_counter() - began, _processor() - before)


def in_turns(works: dict[str, Callable], *, rounds: int) -> dict[str, list[Spent]]:
    """What each of `works` takes, `rounds` times, one after the other."""
    found = {name: [] for name in works}
    for _ in range(rounds):
        for name, work in works.items():
            found[name].append(spent(work))
    return found


def figure(*, work: str, ours: list[float], floor: list[float], unit: str, goal: float, at_least: bool = False) -> dict:
    """One row of the table: `ours` over `floor`, the median over rounds; with `at_least` the floor over ours.

    `goal`: the ratio is to be at most that, with `at_least` no less.
    """
    pairs = zip(ours, floor, strict=True)
    ratio = statistics.median(under / over if at_least else over / under for over, under in pairs)
    return {
        "work": work,
        "ours": round(statistics.median(ours), 4),
        "floor": round(statistics.median(floor), 4),
        "unit": unit,
        "ratio": round(ratio, 2),
        "goal": f"at {'least' if at_least else 'most'} {goal:g}",
        "reached": ratio >= goal if at_least else ratio <= goal,
    }


def _processor():
    times = os.times()
    return times.user + times.system + times.children_user + times.children_system
