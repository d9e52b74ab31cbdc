"""What the planning rules are worth: `.venv/bin/python -m script.planning_trials [SEEDS]`; slow.

Prints how far the order of work is from the best of all sequences in small cases, what it saves against plain due dates
in whole weeks, and how many promises are kept in a workshop of people, blinds and chance that is simulated day by day.
All sizes and minutes are invented.
"""

import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import permutations
from random import Random
from statistics import mean

from calc.order_of_work import Work, changes, order_of_work, place, widths_in_turn
from script.simulated_workshop import ROUTE, run

MONDAY = date(2026, 11, 30)
DAY = 480
SET_UP = 8  # minutes for a change of vane width
SHARES = {"railing": 70, "vanes": 100, "stringing": 85, "checking": 50, "packing": 40}  # of the busiest, in percent


# Order of work: every order there from the start, one person at each station, minute by minute


def ends(sequence: list[Work]) -> dict:
    """When each order leaves packing, in minutes; a blind goes on as soon as it is done, an order has `key[1]` of them.

    Each station takes the blinds in the sequence, and the vanes' station is changed for another width.
    """
    left, found, mounted = dict.fromkeys(ROUTE, 0.0), {}, None
    for work in sequence:
        widths = widths_in_turn(work)
        left["vanes"] += SET_UP * changes(mounted=mounted, widths=widths)
        mounted = widths[-1]
        blinds = work.key[1]
        for _ in range(blinds):
            passed = {}
            for station, before in ROUTE.items():
                ready = max((passed[each] for each in before), default=0)
                left[station] = passed[station] = max(left[station], ready) + work.minutes[station] / blinds
        found[work.key] = left["packing"]
    return found


def changed(sequence: list[Work]) -> int:
    turns = [widths_in_turn(work) for work in sequence]
    return sum(
        changes(mounted=before[-1] if before else None, widths=turn)
        for before, turn in zip([(), *turns], turns, strict=False)
    )


def lateness(sequence: list[Work]) -> list[float]:
    """Minutes after the end of its day by which each late order leaves."""
    left = ends(sequence)
    late = (left[work.key] - DAY * ((work.due - MONDAY).days + 1) for work in sequence)
    return [minutes for minutes in late if minutes > 0]


def week(random: Random, *, days: int, blinds_a_day: int, load: float, most: int = 8) -> list[Work]:
    """Orders for so many days running, promised for each day as many blinds as fill so much of the vanes' day."""
    works = []
    for day in range(days):
        left = blinds_a_day
        while left:
            blinds = min(left, random.randint(1, most))
            left -= blinds
            works.append(_order(random, len(works), blinds, MONDAY + timedelta(day), DAY * load / blinds_a_day))
    random.shuffle(works)
    return [replace(work, key=(number, work.key[1])) for number, work in enumerate(works)]


def _order(random, number, blinds, due, vane_minutes):
    minutes = {
        station: round(vane_minutes * blinds * share / 100 * random.uniform(0.8, 1.2))
        for station, share in SHARES.items()
    }
    widths = (random.choice((89, 127)),)
    return Work(key=(number, blinds), minutes=minutes, first=MONDAY, due=due, widths=widths)


def as_it_ended(works: list[Work]) -> list[Work]:
    """Alternating by what the station really ended on, not by odd and even days."""
    found, mounted = [], None
    for day in sorted({work.due for work in works}):
        of_day = sorted(
            (work for work in works if work.due == day),
            key=lambda work: (work.widths[0] != mounted and mounted is not None, work.widths, place(work)[4:]),
        )
        found += of_day
        mounted = of_day[-1].widths[0]
    return found


def as_booked(works: list[Work]) -> list[Work]:
    return sorted(works, key=lambda work: (work.due, work.key))


def least_work(works: list[Work]) -> list[Work]:
    return sorted(works, key=lambda work: (work.due, place(work)[4:]))


def never_in_turn(works: list[Work]) -> list[Work]:
    return sorted(works, key=lambda work: (work.due, work.widths, place(work)[4:]))


RULES: dict[str, Callable] = {
    "due day, as booked": as_booked,
    "due day, least work": least_work,
    "due day, narrow first": never_in_turn,
    "in turn as it ended": as_it_ended,
    "the order of work": order_of_work,
}


# What stations take first, and the days that are planned between stations and before a promise.
TRIED = (
    *(("order of work", *days) for days in ((0, 0), (0, 1), (0, 2), (1, 0))),
    ("list for the day", 0, 1),
    *(("as booked", *days) for days in ((0, 0), (0, 1), (0, 2))),
)


@dataclass(frozen=True, slots=True)
class Gap:
    """Late orders and late minutes in the order of work, of plain due dates, and of the best of all sequences."""

    cases: int
    late: tuple[int, int, int]
    minutes: tuple[float, float, float]


def from_the_best(*, cases: int, orders: int, load: float, seed: int = 0) -> Gap:
    """The order of work against every sequence of so few orders, the best for each figure by itself."""
    late, minutes = [0, 0, 0], [0.0, 0.0, 0.0]
    random = Random(seed)  # noqa: S311 - to be repeated, nothing secret
    for _ in range(cases):
        works = week(random, days=2, blinds_a_day=orders * 2, load=load, most=4)[:orders]
        found = [lateness(order_of_work(works)), lateness(as_booked(works))]
        every = [lateness(list(sequence)) for sequence in permutations(works)]
        for at, each in enumerate(found):
            late[at] += len(each)
            minutes[at] += sum(each)
        late[2] += min(map(len, every))
        minutes[2] += min(map(sum, every))
    return Gap(cases, tuple(late), tuple(minutes))


def compared(*, seeds: int, blinds_a_day: int, load: float) -> dict[str, tuple[float, float, float, float]]:
    """By rule, the mean over `seeds` weeks: late orders, their late minutes, the worst of them, changes of width."""
    figures = {}
    for name, rule in RULES.items():
        weeks = [
            rule(week(Random(seed), days=5, blinds_a_day=blinds_a_day, load=load))  # noqa: S311
            for seed in range(seeds)
        ]
        late = [lateness(sequence) for sequence in weeks]
        figures[name] = (
            mean(map(len, late)),
            mean(map(sum, late)),
            max(max(each, default=0) for each in late),
            mean(map(changed, weeks)),
        )
    return figures


def main(seeds: int) -> None:
    print("Small cases against every sequence: the order of work, due day as booked, the best")
    for orders, load in ((5, 1.1), (6, 1.1), (6, 1.2)):
        gap = from_the_best(cases=60, orders=orders, load=load)
        print(
            f"  {gap.cases} cases of {orders} orders, load {load}: late {gap.late[0]} {gap.late[1]} {gap.late[2]}, "
            f"late minutes {gap.minutes[0]:.0f} {gap.minutes[1]:.0f} {gap.minutes[2]:.0f}"
        )
    for blinds, load in ((40, 0.9), (200, 0.9)):
        print(f"\nWeeks of {blinds} blinds a day, load {load} without set-ups, mean of {seeds}")
        for name, (late, minutes, worst, count) in compared(seeds=seeds, blinds_a_day=blinds, load=load).items():
            print(
                f"  {name:24} late orders {late:6.1f}, {minutes:8.0f} min in all, {worst:5.0f} at worst; "
                f"changes {count:5.1f}",
                flush=True,
            )
    for load, troubled in ((0.9, False), (1.0, False), (0.9, True), (1.0, True)):
        print(f"\nPeople, blinds and chance{', and trouble' if troubled else ''}: {seeds} times 40 days, load {load}")
        for dispatch, transfer, buffer in TRIED:
            print_kept(seeds, dispatch, transfer, buffer, load=load, troubled=troubled)


def print_kept(seeds: int, dispatch: str, transfer: int, buffer: int, **times) -> None:
    runs = [
        run(seed=seed, transfer_days=transfer, buffer_days=buffer, dispatch=dispatch, **times) for seed in range(seeds)
    ]
    promised, late = sum(each.promised for each in runs), sum(each.late for each in runs)
    print(
        f"  {dispatch:16} transfer {transfer} buffer {buffer}: late {late} of {promised} "
        f"({100 * late / promised:.1f} %), worst {max(each.worst_days for each in runs)} days, "
        f"promised after {mean(each.lead_days for each in runs):.1f} working days",
        flush=True,
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
