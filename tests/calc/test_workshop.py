"""A workshop's days and minutes, and what it refuses."""

from datetime import date, timedelta

import pytest

from calc.workshop import Workshop
from tests.calc.workshops import ROUTE, TUESDAY, workshop

FRIDAY, SATURDAY, MONDAY = (date(2026, 12, day) for day in (4, 5, 7))


def test_every_station_comes_after_those_before_it_however_the_route_is_written_down():
    backwards = dict(reversed(ROUTE.items()))
    for route in (ROUTE, backwards):
        stations = workshop(route=route).stations
        assert sorted(stations) == sorted(ROUTE)
        for station, before in route.items():
            assert all(stations.index(each) < stations.index(station) for each in before)


def test_a_day_without_minutes_has_none_and_a_station_without_days_too():
    shop = Workshop(route=ROUTE, days=workshop(days=3).days, capacity={"railing": {TUESDAY + timedelta(1): 480}})
    assert shop.minutes_by_day("railing") == [0, 480, 0]
    assert shop.minutes_by_day("packing") == [0, 0, 0]


def test_the_place_of_a_closed_day_is_that_of_the_next_working_day():
    shop = workshop(days=5)
    assert [shop.place_of(day) for day in (TUESDAY - timedelta(9), TUESDAY, FRIDAY, SATURDAY, MONDAY)] == [
        0,
        0,
        3,
        4,
        4,
    ]
    assert shop.place_of(MONDAY + timedelta(1)) == 5
    assert [shop.day_at(place) for place in (0, 3, 4, None)] == [TUESDAY, FRIDAY, MONDAY, None]


def test_working_days_between_two_days():
    shop = workshop(days=5)
    assert shop.days_after(TUESDAY, FRIDAY) == 3
    assert shop.days_after(FRIDAY, MONDAY) == 1
    assert shop.days_after(SATURDAY, MONDAY) == 1
    assert shop.days_after(FRIDAY, SATURDAY) == 0
    assert shop.days_after(FRIDAY, FRIDAY) == 0
    assert shop.days_after(MONDAY, FRIDAY) == 0


def test_an_order_is_finished_a_buffer_before_the_day_that_was_promised():
    assert [workshop(days=5).latest_finish(day) for day in (FRIDAY, SATURDAY, MONDAY)] == [3, 3, 4]
    assert [workshop(days=5, buffer_days=2).latest_finish(day) for day in (TUESDAY, FRIDAY, MONDAY)] == [-2, 1, 2]


def test_days_out_of_order_are_refused():
    days = (TUESDAY, FRIDAY, FRIDAY)
    with pytest.raises(ValueError, match=r"^2026-12-04 comes after 2026-12-04 in the working days\. Give them in"):
        Workshop(route=ROUTE, days=days, capacity={})
    with pytest.raises(ValueError, match=r"^2026-12-01 comes after 2026-12-04"):
        Workshop(route=ROUTE, days=(FRIDAY, TUESDAY), capacity={})


def test_a_route_through_an_unknown_station_or_in_a_circle_is_refused():
    with pytest.raises(ValueError, match=r"^The route names \['sewing'\] only as coming before"):
        workshop(route={"packing": ("sewing",)})
    with pytest.raises(ValueError, match="cycle"):
        workshop(route={"railing": ("packing",), "packing": ("railing",)})


def test_one_minute_and_one_day_of_each_are_something():
    shop = workshop(days=1, minutes=1, transfer_days=1, buffer_days=1, setup_minutes={"vanes": 1})
    assert shop.minutes_by_day("vanes") == [1]


@pytest.mark.parametrize(
    "settings", [{"minutes": -1}, {"transfer_days": -1}, {"buffer_days": -1}, {"setup_minutes": {"vanes": -1}}], ids=str
)
def test_less_than_nothing_is_refused(settings):
    with pytest.raises(ValueError, match=r"^Days and minutes are at least 0, and one is -1\.$"):
        workshop(**settings)
