"""Advice when not every promise fits: at which station, and the fewest orders that would have to move.

Moore's rule for the fewest late jobs on one machine (J. M. Moore, "An n job, one machine sequencing algorithm for
minimizing the number of late jobs", Management Science 15, 1968; in Hodgson's form, printed there). It looks at one
station as if work could be there from the first day on, and leaves set-ups out. So fewer can't be moved, and more may
have to be.
"""

from bisect import bisect_right, insort
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from itertools import accumulate
from typing import Any, NamedTuple

from calc.order_of_work import Work, order_of_work
from calc.plan import check
from calc.workshop import Workshop


class Job(NamedTuple):
    """`minutes` of one order on one machine, due once the machine has worked `due_minutes` in all."""

    key: Any
    minutes: int
    due_minutes: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Overload:
    """At `station` more is promised than can be done: by `day`, the first such, `promised` minutes of `there`.

    `moving`: the fewest orders that would have to move, the earliest promise first.
    """

    station: str
    day: date
    promised_minutes: int
    there_minutes: int
    moving: tuple[Any, ...]


def fewest_late(jobs: Iterable[Job]) -> list[Any]:
    """The keys of the fewest jobs that are late whatever the order, in the order of `jobs`.

    Of several longest the one latest in `jobs` is late. Minutes are whole.
    """
    jobs = list(jobs)
    by_due = sorted(range(len(jobs)), key=lambda at: jobs[at].due_minutes)
    kept, total = [], 0
    for at in by_due:
        insort(kept, (jobs[at].minutes, at))
        total += jobs[at].minutes
        if total > jobs[at].due_minutes:
            total -= kept.pop()[0]
    on_time = {at for _, at in kept}
    return [job.key for at, job in enumerate(jobs) if at not in on_time]


def overload(*, workshop: Workshop, works: Iterable[Work]) -> Overload | None:
    """The station at which most promises would have to move, the first on the route of several; None if all fit.

    Raises ValueError as calc.plan.planned does.
    """
    works = [work for work in order_of_work(works) if work.due is not None]
    check(workshop=workshop, works=works)
    found = (_at_station(workshop, station, works) for station in workshop.stations)
    return max((each for each in found if each), key=lambda each: len(each.moving), default=None)


def _at_station(workshop: Workshop, station: str, works: list[Work]) -> Overload | None:
    there = [0, *accumulate(workshop.minutes_by_day(station))]
    jobs = [
        Job(work.key, work.minutes[station], there[bisect_right(workshop.days, work.due)])
        for work in works
        if work.minutes.get(station)
    ]
    dues = {work.key: work.due for work in works}
    promised = 0
    for job in jobs:
        promised += job.minutes
        if promised > job.due_minutes:
            return Overload(
                station=station,
                day=dues[job.key],
                promised_minutes=promised,
                there_minutes=job.due_minutes,
                moving=tuple(fewest_late(jobs)),
            )
    return None
