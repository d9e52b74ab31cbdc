"""The earliest day that can be promised for a new order, why not earlier, and whom a wanted day would make late.

A promise that was given is never broken by a new one: see `earliest`. Nothing here reads a clock or writes a booking;
whoever books asks again while holding the lock under which it books.
"""

from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from calc.order_of_work import Work, order_of_work, place
from calc.plan import Floor, Step, check, planned, steps_of
from calc.workshop import Workshop


@dataclass(frozen=True, kw_only=True, slots=True)
class Moved:
    """A booked order that a new one would push past its buffer: finished on `was` without it, on `becomes` with it.

    `late_days`: how many working days later than promised, or than it would be late all the same; 0 while it only
    loses its buffer, None where `becomes` is None, beyond the horizon.
    """

    key: Any
    due: date
    was: date
    becomes: date | None
    late_days: int | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Effect:
    """What a new order does if it is promised for `day`.

    `finished` is the day of its own finish, None beyond the horizon; `on_time` whether that isn't after `day`, and
    `in_time` whether its buffer lies between them as well. `moved`: the booked orders that would lose their buffer or
    be late; `late`: those that would be late. `no_worse`: of an order that is changed, whether it was booked for the
    same day before, and is finished no later than it was.
    """

    day: date
    finished: date | None
    on_time: bool
    in_time: bool
    steps: tuple[Step, ...]
    moved: tuple[Moved, ...]
    no_worse: bool = False

    @property
    def late(self) -> tuple[Moved, ...]:
        return tuple(each for each in self.moved if each.late_days != 0)

    @property
    def can_be_kept(self) -> bool:
        """Whether everybody's promise and buffer can be kept, its own too unless that was lost before."""
        return (self.in_time or self.no_worse) and not self.moved


@dataclass(frozen=True, kw_only=True, slots=True)
class Quote:
    """The earliest day that can be promised, and why not earlier; `day` is None where there is none before the horizon.

    `finished` and `steps` are those of the order if it is promised for `day`. `day_before` is what a promise for the
    working day before would do, for the last one where `day` is None; None if there is no such day. `held_by` is the
    step that finds the most days full, the later one on the route of two; None if none does.
    """

    day: date | None
    finished: date | None = None
    steps: tuple[Step, ...] = ()
    held_by: Step | None = None
    day_before: Effect | None = None


def earliest(*, workshop: Workshop, booked: Iterable[Work], new: Work) -> Quote:
    """The earliest working day for which `new` can be promised, `new.due` left aside.

    Promised for a day, it takes its place in the order of work. A day will do if it is then finished, with its buffer,
    by that day, and if no booked order that has a promise is finished later than it would be without `new`, unless
    with its buffer kept. Raises ValueError as calc.plan.planned does.
    """
    desk, days = _Desk(workshop=workshop, booked=booked, new=new), workshop.days
    tried = range(workshop.place_of(new.first), len(days))
    at = next((at for at in tried if desk.will_do(days[at])), None)
    past = len(days) if at is None else at
    before = desk.effect(days[past - 1]) if past else None
    if at is None:
        return Quote(day=None, held_by=before and _held_by(before.steps), day_before=before)
    kept = desk.effect(days[at])
    return Quote(
        day=kept.day, finished=kept.finished, steps=kept.steps, held_by=_held_by(kept.steps), day_before=before
    )


def effect_of(*, workshop: Workshop, booked: Iterable[Work], new: Work) -> Effect:
    """What it would do to promise `new` for the day in `new.due`, a working day within the horizon or not.

    Raises ValueError where `new.due` is None, and as calc.plan.planned does.
    """
    if new.due is None:
        raise ValueError(f"Order {new.key} has no day. Give the wanted day as its due.")
    return _Desk(workshop=workshop, booked=booked, new=new).effect(new.due)


def effect_of_change(*, workshop: Workshop, before: Iterable[Work], after: Iterable[Work], key: Any) -> Effect:
    """What it does that the order `key`, booked among `before` or not, becomes as it is among `after`.

    All others are the same in both. Raises ValueError as calc.plan.planned does.
    """
    before, after = order_of_work(before), order_of_work(after)
    was, becomes = (planned(workshop=workshop, works=works) for works in (before, after))
    own, finished = next(work for work in after if work.key == key), becomes.finished[key]
    others = [(work, was.finished[work.key], becomes.finished[work.key]) for work in after if work.key != key]
    return Effect(
        day=own.due,
        finished=finished,
        on_time=finished is not None and finished <= own.due,
        in_time=_in_time(workshop, own.due, finished),
        steps=becomes.steps[key],
        moved=tuple(_moved(workshop, *each) for each in others if _is_pushed(workshop, *each)),
        no_worse=any(work.key == key and work.due == own.due for work in before)
        and not _is_later(was.finished[key], finished),
    )


def _is_pushed(workshop: Workshop, work: Work, was: date | None, becomes: date | None) -> bool:
    """Whether an order is finished later than it was, and past its buffer."""
    return work.due is not None and _is_later(was, becomes) and not _in_time(workshop, work.due, becomes)


def _is_later(was: date | None, becomes: date | None) -> bool:
    return was is not None and (becomes is None or becomes > was)


def _in_time(workshop: Workshop, due: date, finished: date | None) -> bool:
    return finished is not None and workshop.place_of(finished) <= workshop.latest_finish(due)


def _moved(workshop: Workshop, work: Work, was: date, becomes: date | None) -> Moved:
    late_days = None if becomes is None else workshop.days_after(max(work.due, was), becomes)
    return Moved(key=work.key, due=work.due, was=was, becomes=becomes, late_days=late_days)


class _Desk:
    """The booked orders in the order of work and when each is finished. It keeps what the first of them leave free."""

    def __init__(self, *, workshop: Workshop, booked: Iterable[Work], new: Work):
        self.workshop, self.new = workshop, new
        self.sequence = order_of_work(booked)
        check(workshop=workshop, works=[*self.sequence, new])
        self._places = [place(work) for work in self.sequence]
        floor = Floor.empty(workshop)
        self._finishes = [(work, floor.load(work)[0]) for work in self.sequence]
        self._before, self._loaded = Floor.empty(workshop), 0

    def will_do(self, day: date) -> bool:
        """Whether the new order can be promised for `day`: `effect(day).can_be_kept`, as soon as that is plain."""
        floor, at = self._floor(day)
        finish, _ = floor.load(replace(self.new, due=day))
        return self._in_time(day, finish) and not any(self._pushed(floor, at))

    def effect(self, day: date) -> Effect:
        """What it does to promise the new order for `day`."""
        floor, at = self._floor(day)
        finish, way = floor.load(replace(self.new, due=day))
        finished = self.workshop.day_at(finish)
        return Effect(
            day=day,
            finished=finished,
            on_time=finished is not None and finished <= day,
            in_time=self._in_time(day, finish),
            steps=steps_of(workshop=self.workshop, way=way),
            moved=tuple(self._moved(*each) for each in self._pushed(floor, at)),
        )

    def _floor(self, day: date) -> tuple[Floor, int]:
        """What the orders before the new one leave free if it is due on `day`, and how many they are."""
        at = bisect_left(self._places, place(replace(self.new, due=day)))
        if at < self._loaded:
            self._before, self._loaded = Floor.empty(self.workshop), 0
        for work in self.sequence[self._loaded : at]:
            self._before.load(work)
        self._loaded = at
        return self._before.copy(), at

    def _in_time(self, day: date, finish: int | None) -> bool:
        return finish is not None and finish <= self.workshop.latest_finish(day)

    def _pushed(self, floor: Floor, at: int):
        """The orders from `at` on that are finished later and past their buffer: (order, was, becomes)."""
        for work, was in self._finishes[at:]:
            becomes = floor.load(work)[0]
            if work.due is None or was is None or self._in_time(work.due, becomes):
                continue
            if becomes is None or becomes > was:
                yield work, was, becomes

    def _moved(self, work: Work, was: int, becomes: int | None) -> Moved:
        return _moved(self.workshop, work, self.workshop.day_at(was), self.workshop.day_at(becomes))


def _held_by(steps: tuple[Step, ...]) -> Step | None:
    return max((step for step in reversed(steps) if step.full), key=lambda step: len(step.full), default=None)
