"""The plan of a workshop: every order, in the order of work, takes the first free minutes at each station of its way.

Forward loading in whole days (common practice, no source). An order goes on to the next station as a whole. What is
planned for an order doesn't depend on the orders after it.

What the plan guarantees is said in `planned`, and simulated in tests/calc/test_promise_simulated.py.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from calc.order_of_work import Work, changes, order_of_work, widths_in_turn
from calc.workshop import Workshop


@dataclass(frozen=True, kw_only=True, slots=True)
class Step:
    """One order at one station: could be begun on `ready`, is begun on `begins` and done on `ends`.

    `ends` is None where the horizon comes first, and `begins` too where no minute is free before it. `slices` are the
    minutes of each day, set-ups among them. `full` are the days from `ready` until `ends` on which orders before it
    left it less than it could have used.
    """

    station: str
    ready: date
    begins: date | None
    ends: date | None
    slices: tuple[tuple[date, int], ...]
    full: tuple[date, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Plan:
    """Who works on what on which day.

    `finished`: by order, the last day of its work; None beyond the horizon. `steps`: by order, its way through the
    stations that it needs, as far as the horizon. `slices`: by station and day, (order, minutes) in the order of work.
    `free`: by station and day, the minutes that are left.
    """

    finished: dict[Any, date | None]
    steps: dict[Any, tuple[Step, ...]]
    slices: dict[str, dict[date, list[tuple[Any, int]]]]
    free: dict[str, dict[date, int]]


@dataclass(slots=True)
class Taken:
    """What an order took at one station, days counted from 0: (day, minutes) each, and whether that was all."""

    station: str
    ready: int
    slices: list[tuple[int, int]]
    ends: int | None


@dataclass(slots=True)
class Floor:
    """The minutes still free at each station, and the vane width on which it ended."""

    workshop: Workshop
    free: dict[str, list[int]] = field(default_factory=dict)
    mounted: dict[str, int] = field(default_factory=dict)

    @classmethod
    def empty(cls, workshop: Workshop) -> "Floor":
        return cls(workshop, {station: workshop.minutes_by_day(station) for station in workshop.stations})

    def copy(self) -> "Floor":
        free = {station: minutes.copy() for station, minutes in self.free.items()}
        return Floor(self.workshop, free, self.mounted.copy())

    def load(self, work: Work) -> tuple[int | None, list[Taken]]:
        """Takes an order's minutes; the day of its finish counted from 0, None beyond the horizon, and its way."""
        workshop = self.workshop
        done = finish = workshop.place_of(work.first)
        passed, way = {}, []
        for station in workshop.stations:
            ready = max((passed[before] for before in workshop.route[station]), default=done)
            passed[station] = ready
            if minutes := work.minutes.get(station, 0):
                taken = self._take(station, ready, minutes + self._set_up(station, work))
                way.append(taken)
                if taken.ends is None:
                    return None, way
                finish = max(finish, taken.ends)
                passed[station] = taken.ends + workshop.transfer_days
        return (finish if finish < len(workshop.days) else None), way

    def _set_up(self, station: str, work: Work) -> int:
        minutes = (self.workshop.setup_minutes or {}).get(station, 0)
        widths = widths_in_turn(work)
        if not minutes or not widths:
            return 0
        mounted, self.mounted[station] = self.mounted.get(station), widths[-1]
        return minutes * changes(mounted=mounted, widths=widths)

    def _take(self, station: str, ready: int, minutes: int) -> Taken:
        free, slices = self.free[station], []
        for day in range(ready, len(free)):
            if taken := min(free[day], minutes):
                free[day] -= taken
                minutes -= taken
                slices.append((day, taken))
                if not minutes:
                    return Taken(station, ready, slices, day)
        return Taken(station, ready, slices, None)


def planned(*, workshop: Workshop, works: Iterable[Work]) -> Plan:
    """The plan of all `works` in the order of work.

    With `transfer_days` of 1 it can be kept to the minute: if each station first does what the plan gives it for the
    day, every order is finished on its planned day at the latest, whenever in the day the minutes fall. With 0 an order
    may have to change hands within a day more often than that day allows; where every day has the same minutes it is
    finished at the latest so many working days after its planned day as the longest way has stations before the last.
    Work is cut anywhere into minutes: a blind begun late in the day goes on next morning.

    Raises ValueError for two orders with one key, for a station that isn't on the route and for negative minutes.
    """
    return loaded(workshop=workshop, sequence=order_of_work(works))


def loaded(*, workshop: Workshop, sequence: Iterable[Work]) -> Plan:
    """The plan of a sequence, whether or not it is the order of work; raises as `planned` does."""
    sequence = list(sequence)
    check(workshop=workshop, works=sequence)
    floor = Floor.empty(workshop)
    slices = {station: {} for station in workshop.stations}
    finished, steps = {}, {}
    for work in sequence:
        finish, way = floor.load(work)
        finished[work.key] = workshop.day_at(finish)
        steps[work.key] = steps_of(workshop=workshop, way=way)
        for step in steps[work.key]:
            for day, minutes in step.slices:
                slices[step.station].setdefault(day, []).append((work.key, minutes))
    free = {
        station: {day: minutes[at] for at, day in enumerate(workshop.days)} for station, minutes in floor.free.items()
    }
    return Plan(finished=finished, steps=steps, slices=slices, free=free)


def steps_of(*, workshop: Workshop, way: Iterable[Taken]) -> tuple[Step, ...]:
    """An order's way through the workshop in days; a step that begins beyond the horizon is left out."""
    return tuple(_step(workshop, taken) for taken in way if taken.ready < len(workshop.days))


def _step(workshop: Workshop, taken: Taken) -> Step:
    days = workshop.days
    capacity, taken_on = workshop.minutes_by_day(taken.station), dict(taken.slices)
    until = len(days) if taken.ends is None else taken.ends
    full = (day for day in range(taken.ready, until) if capacity[day] > taken_on.get(day, 0))
    return Step(
        station=taken.station,
        ready=days[taken.ready],
        begins=days[taken.slices[0][0]] if taken.slices else None,
        ends=workshop.day_at(taken.ends),
        slices=tuple((days[day], minutes) for day, minutes in taken.slices),
        full=tuple(days[day] for day in full),
    )


def check(*, workshop: Workshop, works: Iterable[Work]) -> None:
    """Raises ValueError for what can't be planned: a key twice, a station that isn't on the route, negative minutes."""
    seen = set()
    for work in works:
        if work.key in seen:
            raise ValueError(f"Order {work.key} is there twice. Give each order once, with all that it still needs.")
        seen.add(work.key)
        for station, minutes in work.minutes.items():
            if station not in workshop.route:
                raise ValueError(f"Order {work.key} has work at {station}, which isn't on the route.")
            if minutes < 0:
                raise ValueError(f"Order {work.key} has {minutes} min at {station}. Give 0 or more.")
