"""Random workshops and orders for property tests of planning, and the workshop that its worked examples are set in."""

from datetime import date, timedelta

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from calc.order_of_work import Work
from calc.workshop import Workshop
from production.route import STATIONS

ROUTE = {station.key: station.after for station in STATIONS}
# How many stations come before one on its longest way.
DEPTH = {"railing": 0, "vanes": 0, "stringing": 1, "checking": 2, "packing": 3}
TUESDAY = date(2026, 12, 1)
# Enough to find a fault, and no failure for want of a quick machine.
patient = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def weekdays(count, first=TUESDAY):
    """So many days from Monday to Friday, from `first` on."""
    return tuple(day for day in (first + timedelta(days) for days in range(2 * count + 7)) if day.weekday() < 5)[:count]


def workshop(*, days=10, minutes=480, route=ROUTE, **settings):
    """A workshop of so many working days from Tuesday on, with as many minutes at every station each day.

    `minutes` may name a station's own: a number, or one number for each of the first days and 0 from then on.
    """
    days = weekdays(days)
    own = minutes if isinstance(minutes, dict) else {}
    by_station = {station: own.get(station, 480 if own else minutes) for station in route}
    capacity = {
        station: dict(zip(days, each, strict=False)) if isinstance(each, tuple) else dict.fromkeys(days, each)
        for station, each in by_station.items()
    }
    return Workshop(route=route, days=days, capacity=capacity, **settings)


def order(key, *, due=None, first=TUESDAY, rush=False, widths=(), **minutes):
    return Work(key=key, minutes=minutes, first=first, due=due, rush=rush, widths=widths)


@st.composite
def workshops(choose, *, transfer_days=None, steady=False, setup=True):
    """Workshops with days off, and with people away; `steady` ones have the same minutes every day."""
    days = weekdays(choose(st.integers(1, 12)))
    away = st.sets(st.sampled_from(days), max_size=0 if steady else 3)
    closed = choose(away)
    days = tuple(day for day in days if day not in closed) or days
    capacity = {}
    for station in ROUTE:
        minutes, nobody = choose(st.integers(1, 24)), choose(away)
        capacity[station] = {day: 0 if day in nobody else minutes for day in days}
    return Workshop(
        route=ROUTE,
        days=days,
        capacity=capacity,
        setup_minutes={"vanes": choose(st.integers(0, 3))} if setup else None,
        transfer_days=choose(st.integers(0, 1)) if transfer_days is None else transfer_days,
        buffer_days=choose(st.integers(0, 2)),
    )


@st.composite
def orders(choose, *, least=1, most=6, regular=False):
    """Orders with keys from 0 up; `regular` ones can all be begun on the first day and need every station."""
    day = st.integers(-2, 14).map(lambda days: TUESDAY + timedelta(days))
    minutes = st.tuples(*[st.integers(1 if regular else 0, 9)] * len(ROUTE))
    return [
        Work(
            key=key,
            minutes=dict(zip(ROUTE, choose(minutes), strict=True)),
            first=TUESDAY if regular else choose(st.one_of(st.just(TUESDAY), day)),
            due=choose(st.one_of(st.none(), day)),
            rush=choose(st.booleans()),
            widths=choose(st.sampled_from(((), (89,), (127,), (89, 127)))),
        )
        for key in range(choose(st.integers(least, most)))
    ]
