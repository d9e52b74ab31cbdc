"""The minutes that a blind takes: what a workshop begins with, and what it learns from its own events."""

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.flow import FINISH, PAUSE, RESUME, SEND_BACK, START, Event
from production import route, worktimes
from production.route import RAILING, STRINGING
from production.worktimes import ENOUGH, KINDS, LAST, MIDDLE, NARROW, WIDE, Kind

UTC = ZoneInfo("UTC")
PLAIN = Kind(split=False, looped=True, width=MIDDLE)
SEVEN = dt.datetime(2026, 3, 4, 7, 0, tzinfo=dt.UTC)


def at(minutes):
    return SEVEN + dt.timedelta(minutes=minutes)


def events(blind, *told, station=RAILING, attempt=1):
    """What was told of one blind: (kind, minutes after seven)."""
    return [Event(blind=blind, station=station, kind=kind, attempt=attempt, at=at(when)) for kind, when in told]


def learned(*told, zone=UTC, kinds=None):
    return worktimes.learned(
        events=[one for each in told for one in each], kinds=kinds or {1: PLAIN, 2: PLAIN}, zone=zone
    )


@pytest.mark.parametrize(
    ("width_mm", "width"), [(400, NARROW), (1200, NARROW), (1201, MIDDLE), (2400, MIDDLE), (2400.5, WIDE)]
)
def test_a_width_belongs_to_one_class_up_to_its_end(width_mm, width):
    assert worktimes.kind_of(draw="split", operation="wand", width_mm=width_mm) == Kind(True, False, width)


def test_a_reverse_draw_has_one_stack_as_one_way_has():
    kinds = {worktimes.kind_of(draw=draw, operation="cord_chain", width_mm=1500) for draw in ("one_way", "reverse")}
    assert kinds == {PLAIN}


def test_every_kind_begins_with_minutes_at_every_station():
    assert set(worktimes.STARTS) == set(route.STATION)
    table = worktimes.table({})
    assert len(table) == len(KINDS) * len(route.STATION) == 60
    assert all(found.counts == found.start > 0 and found.learned is None for found in table.values())


def test_pauses_are_left_out():
    told = events(1, (START, 0), (PAUSE, 20), (RESUME, 80), (FINISH, 100))
    assert learned(told) == {(RAILING, PLAIN): [40]}


def test_a_begun_minute_counts_whole_and_nothing_takes_none():
    told = events(1, (START, 0), (FINISH, 10.5)), events(2, (START, 20), (FINISH, 20))
    assert learned(*told) == {(RAILING, PLAIN): [11, 1]}


def test_what_was_not_finished_or_was_sent_back_from_there_teaches_nothing():
    told = events(1, (START, 0), (PAUSE, 20)), events(2, (START, 0), (SEND_BACK, 20))
    assert learned(*told) == {}


def test_work_done_anew_teaches_nothing():
    told = events(1, (START, 0), (FINISH, 40)), events(1, (START, 100), (FINISH, 105), attempt=2)
    assert learned(*told) == {(RAILING, PLAIN): [40]}


def test_a_blind_forgotten_overnight_teaches_nothing_and_midnight_is_the_workshops():
    told = events(1, (START, 0), (FINISH, 24 * 60)), events(2, (START, 14 * 60 + 30), (FINISH, 15 * 60 + 30))
    assert learned(*told) == {(RAILING, PLAIN): [60]}
    # Half past nine in the evening is half past eleven in Helsinki.
    assert learned(*told, zone=ZoneInfo("Europe/Helsinki")) == {}


def test_stations_and_kinds_are_learned_apart():
    wide = Kind(split=False, looped=True, width=WIDE)
    told = (
        events(1, (START, 0), (FINISH, 40)),
        events(1, (START, 50), (FINISH, 80), station=STRINGING),
        events(2, (START, 0), (FINISH, 55)),
    )
    found = learned(*told, kinds={1: PLAIN, 2: wide})
    assert found == {(RAILING, PLAIN): [40], (STRINGING, PLAIN): [30], (RAILING, wide): [55]}


def test_only_the_newest_are_learned_from():
    told = [
        events(blind, (START, 20 * blind), (FINISH, 20 * blind + (19 if blind < 5 else 15)))
        for blind in range(LAST + 5)
    ]
    kinds = dict.fromkeys(range(LAST + 5), PLAIN)
    assert learned(*reversed(told), kinds=kinds) == {(RAILING, PLAIN): [15] * LAST}


def test_too_few_blinds_leave_the_table_as_it_began_and_enough_of_them_count():
    few = worktimes.table({(RAILING, PLAIN): [70] * (ENOUGH - 1)})[RAILING, PLAIN]
    assert (few.counts, few.start, few.learned, few.blinds) == (50, 50, 70, ENOUGH - 1)
    enough = worktimes.table({(RAILING, PLAIN): [70] * ENOUGH})[RAILING, PLAIN]
    assert (enough.counts, enough.start, enough.blinds) == (70, 50, ENOUGH)


@given(usual=st.lists(st.integers(30, 60), min_size=ENOUGH, max_size=LAST), wild=st.integers(600, 5000))
def test_one_wild_blind_in_many_changes_little(usual, wild):
    """A median moves at most to the next value; a mean would move by the wild one's share."""
    found = worktimes.table({(RAILING, PLAIN): [*usual, wild]})[RAILING, PLAIN].counts
    assert min(usual) <= found <= max(usual)


def test_the_middle_of_an_even_number_is_rounded_up():
    took = [30] * (ENOUGH // 2) + [41] * (ENOUGH // 2)
    assert worktimes.table({(RAILING, PLAIN): took})[RAILING, PLAIN].counts == 36
