"""A workshop of people, blinds and chance, simulated day by day, that promises as calc.promise quotes.

Each morning orders come in and are promised the earliest day, or a later one that the customer wants. At each station
several people work through their shift, each on one blind at a time, taken from the head of what waits there; what is
in hand at the end of the shift goes on next morning. How long a blind takes varies; in troubled times people stay away
without notice and blinds are sent back from checking, of neither of which the plan knows. All figures are invented.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from random import Random

import simpy

from calc.order_of_work import Work, changes, place
from calc.plan import planned
from calc.promise import earliest
from calc.workshop import Workshop
from production.route import STATIONS

ROUTE = {station.key: station.after for station in STATIONS}
PEOPLE = {"railing": 2, "vanes": 2, "stringing": 2, "checking": 1, "packing": 1}
MINUTES = {"railing": 17, "vanes": 21, "stringing": 22, "checking": 8, "packing": 7}  # of one blind, on average
SHIFT, DAY = 450, 1440
SET_UP = 8
HORIZON = 80
MONDAY = date(2026, 11, 30)
SPREAD = 0.3  # of a blind's minutes, standard deviation over mean
RUSH, LATER = 0.05, 0.4  # shares of orders that are a rush, and that want a later day
AWAY, SENT_BACK = 0.04, 0.04  # in troubled times: shares of people's days, and of blinds checked
BACKLOG_DAYS = 6  # so many days' orders come in on the first morning


@dataclass(frozen=True, slots=True)
class Outcome:
    """Orders promised, those finished after their day, by how many working days at worst, and the mean promise."""

    promised: int
    late: int
    worst_days: int
    lead_days: float


@dataclass(slots=True)
class Booked:
    """An order, its day counted from the first, and its blinds still to be done at each station."""

    work: Work
    came: int
    due: int
    left: dict[str, int]
    done: int | None = None


@dataclass(slots=True)
class Shop:
    """The floor: blinds waiting at each station as (order, blind), who has passed what, and the booked orders."""

    random: Random
    dispatch: str
    troubled: bool
    env: simpy.Environment = field(default_factory=simpy.Environment)
    orders: dict[int, Booked] = field(default_factory=dict)
    waiting: dict[str, list] = field(default_factory=lambda: {station: [] for station in ROUTE})
    passed: dict[tuple, set] = field(default_factory=dict)
    listed: dict[tuple, int] = field(default_factory=dict)
    mounted: int | None = None

    @property
    def today(self) -> int:
        return int(self.env.now // DAY)

    def head(self, station: str) -> tuple[int, int]:
        return min(self.waiting[station], key=lambda blind: self.rank(station, blind))

    def rank(self, station: str, blind: tuple[int, int]) -> tuple:
        work = self.orders[blind[0]].work
        if self.dispatch == "as booked":
            return blind
        in_work_order = place(work), blind
        if self.dispatch == "list for the day":
            return self.listed.get((blind[0], station), HORIZON), *in_work_order
        return in_work_order

    def person(self, station: str) -> Iterator:
        """One person's days: the next blind whenever the last is done, a minute's rest where none waits."""
        away, asked = False, -1
        while True:
            yield from self.until_shift()
            if asked < self.today:
                away, asked = self.troubled and self.random.random() < AWAY, self.today
            if away:
                yield self.env.timeout(SHIFT)
                continue
            if not self.waiting[station]:
                yield self.env.timeout(1)
                continue
            blind = self.head(station)
            self.waiting[station].remove(blind)
            yield from self.spend(self.minutes(station, blind))
            self.finish(station, blind)

    def until_shift(self) -> Iterator:
        """Waits for the next morning if the shift is over."""
        at = self.env.now % DAY
        if at >= SHIFT:
            yield self.env.timeout(DAY - at)

    def spend(self, minutes: float) -> Iterator:
        while minutes > 0:
            yield from self.until_shift()
            now = min(minutes, SHIFT - self.env.now % DAY)
            yield self.env.timeout(now)
            minutes = minutes - now if minutes - now > 1e-6 else 0

    def minutes(self, station: str, blind: tuple[int, int]) -> float:
        taken = MINUTES[station] * self.random.lognormvariate(-(SPREAD**2) / 2, SPREAD)
        if station == "vanes":
            (width,) = self.orders[blind[0]].work.widths
            taken += SET_UP * PEOPLE["vanes"] * changes(mounted=self.mounted, widths=(width,))
            self.mounted = width
        return taken

    def finish(self, station: str, blind: tuple[int, int]) -> None:
        order = self.orders[blind[0]]
        order.left[station] -= 1
        passed = self.passed[blind]
        if station == "checking" and self.troubled and self.random.random() < SENT_BACK:
            passed.remove("stringing")
            order.left["stringing"] += 1
            order.left["checking"] += 1
            self.waiting["stringing"].append(blind)
            return
        passed.add(station)
        for after, before in ROUTE.items():
            if station in before and passed.issuperset(before):
                self.waiting[after].append(blind)
        if not any(order.left.values()):
            order.done = self.today

    def take_in(self, order: Booked) -> None:
        self.orders[order.work.key] = order
        for number in range(order.left["packing"]):
            blind = order.work.key, number
            self.passed[blind] = set()
            for station, before in ROUTE.items():
                if not before:
                    self.waiting[station].append(blind)

    def booked(self) -> list[Work]:
        """What is still to be done, in average minutes."""
        return [
            Work(
                key=order.work.key,
                minutes=_minutes(order.left),
                first=order.work.first,
                due=order.work.due,
                rush=order.work.rush,
                widths=order.work.widths,
            )
            for order in self.orders.values()
            if order.done is None
        ]


def _minutes(blinds: dict[str, int]) -> dict[str, int]:
    return {station: count * MINUTES[station] for station, count in blinds.items()}


def workshop(*, today: int, transfer_days: int, buffer_days: int) -> Workshop:
    days = tuple(day_of(at) for at in range(today, today + HORIZON))
    capacity = {station: dict.fromkeys(days, people * SHIFT) for station, people in PEOPLE.items()}
    setup_minutes = {"vanes": SET_UP * PEOPLE["vanes"]}
    return Workshop(
        route=ROUTE,
        days=days,
        capacity=capacity,
        setup_minutes=setup_minutes,
        transfer_days=transfer_days,
        buffer_days=buffer_days,
    )


def day_of(at: int) -> date:
    """The working day counted from the first."""
    return MONDAY + timedelta(at // 5 * 7 + at % 5)


def run(
    *,
    seed: int,
    transfer_days: int,
    buffer_days: int,
    dispatch: str = "order of work",
    days: int = 40,
    load: float = 0.9,
    troubled: bool = False,
) -> Outcome:
    """So many days of promising, at so much of what the busiest station can do, until all that was promised is done.

    `dispatch`: what a station takes first, "order of work", "list for the day" (of a plan made each morning) or "as
    booked".
    """
    random = Random(seed)  # noqa: S311 - to be repeated, nothing secret
    shop = Shop(Random(seed + 1), dispatch, troubled)  # noqa: S311
    rules = {"transfer_days": transfer_days, "buffer_days": buffer_days}
    for station, people in PEOPLE.items():
        for _ in range(people):
            shop.env.process(shop.person(station))
    blinds_a_day = load * min(PEOPLE[station] * SHIFT / MINUTES[station] for station in ROUTE)
    due_in = blinds_a_day * BACKLOG_DAYS
    for today in range(days):
        shop.env.run(until=today * DAY + 1e-3)
        due_in += blinds_a_day
        while due_in > 0:
            blinds = random.choice((1, 1, 2, 2, 3, 3, 4, 5, 6, 8, 12))
            due_in -= blinds
            shop.take_in(_promised(shop, random, blinds, rules))
        _list(shop, rules)
    at = days
    while any(order.done is None for order in shop.orders.values()):
        shop.env.run(until=at * DAY + 1e-3)
        _list(shop, rules)
        at += 1
    return _outcome(shop)


def _list(shop: Shop, rules: dict) -> None:
    if shop.dispatch == "list for the day":
        plan = planned(workshop=workshop(today=shop.today, **rules), works=shop.booked())
        shop.listed = {
            (key, step.station): (step.begins - MONDAY).days
            for key, steps in plan.steps.items()
            for step in steps
            if step.begins
        }


def _promised(shop: Shop, random: Random, blinds: int, rules: dict) -> Booked:
    left = dict.fromkeys(ROUTE, blinds)
    new = Work(
        key=len(shop.orders),
        minutes=_minutes(left),
        first=day_of(shop.today),
        rush=random.random() < RUSH,
        widths=(random.choice((89, 127)),),
    )
    floor = workshop(today=shop.today, **rules)
    quote = earliest(workshop=floor, booked=shop.booked(), new=new)
    due = shop.today + floor.place_of(quote.day)
    if not new.rush and random.random() < LATER:
        due += random.randint(1, 8)
    work = Work(key=new.key, minutes=new.minutes, first=new.first, due=day_of(due), rush=new.rush, widths=new.widths)
    return Booked(work, shop.today, due, left)


def _outcome(shop: Shop) -> Outcome:
    late = [order.done - order.due for order in shop.orders.values() if order.done > order.due]
    leads = [order.due - order.came for order in shop.orders.values()]
    return Outcome(len(shop.orders), len(late), max(late, default=0), sum(leads) / len(leads))
