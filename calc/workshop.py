"""A workshop as planning sees it: stations in the order of the route, working days, and minutes by station and day."""

from bisect import bisect_left, bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from graphlib import TopologicalSorter


@dataclass(frozen=True, kw_only=True)
class Workshop:
    """Stations, days and minutes. Everything is planned in whole days and whole minutes.

    `route`: each station with the stations that come before it. `days`: the working days in order, from the first that
    can still be worked on to the horizon; a day that isn't among them is closed. `capacity`: minutes by station and
    day, all its people together; what is left out is 0. `setup_minutes`: by station, what a change of vane width takes.

    `transfer_days`: how many working days after the last at one station an order may be begun at the next; 0 allows the
    same day, 1 is what can always be kept (script/planning_trials.py). `buffer_days`: so many working days lie between
    the day on which an order is planned to be finished and the day that is promised.

    Raises ValueError for days out of order, for a negative number, and for a route that names no station or goes in a
    circle.
    """

    route: Mapping[str, tuple[str, ...]]
    days: tuple[date, ...]
    capacity: Mapping[str, Mapping[date, int]]
    setup_minutes: Mapping[str, int] | None = None
    transfer_days: int = 0
    buffer_days: int = 0

    def __post_init__(self):
        for earlier, later in zip(self.days, self.days[1:], strict=False):
            if earlier >= later:
                raise ValueError(f"{later} comes after {earlier} in the working days. Give them in order, each once.")
        for before in self.route.values():
            if missing := set(before) - set(self.route):
                raise ValueError(f"The route names {sorted(missing)} only as coming before. Give each station itself.")
        numbers = [self.transfer_days, self.buffer_days, *(self.setup_minutes or {}).values()]
        numbers += [minutes for by_day in self.capacity.values() for minutes in by_day.values()]
        if min(numbers) < 0:
            raise ValueError(f"Days and minutes are at least 0, and one is {min(numbers)}.")
        _ = self.stations

    @cached_property
    def stations(self) -> tuple[str, ...]:
        """Every station after those that come before it."""
        return tuple(TopologicalSorter(self.route).static_order())

    def minutes_by_day(self, station: str) -> list[int]:
        """The minutes of a station on each working day."""
        by_day = self.capacity.get(station, {})
        return [by_day.get(day, 0) for day in self.days]

    def place_of(self, day: date) -> int:
        """Which working day, counted from 0, is the first that isn't before `day`; len(days) beyond the horizon."""
        return bisect_left(self.days, day)

    def day_at(self, place: int | None) -> date | None:
        """The working day at a place; None for None, which is beyond the horizon."""
        return None if place is None else self.days[place]

    def days_after(self, day: date, until: date) -> int:
        """How many working days come after `day`, up to and including `until`; 0 if `until` isn't later."""
        return max(0, bisect_right(self.days, until) - bisect_right(self.days, day))

    def latest_finish(self, due: date) -> int:
        """The place of the last working day on which an order due on `due` is finished with its buffer kept.

        Below 0 when that day has gone by.
        """
        return bisect_right(self.days, due) - 1 - self.buffer_days
