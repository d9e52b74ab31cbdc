"""The day sheet says what the events say, by the workshop's clock, to those who may see it."""

import datetime as dt
from importlib import import_module

import pytest
from django.apps import apps
from django.db import connection
from django.test.utils import CaptureQueriesContext

from orders import intake
from production import daybook, daysheet, route
from production.models import HeldDay, StationEvent
from production.route import CHECKING, RAILING, STRINGING, VANES
from tests.factories import enter_steps, make, order, released, tell, work

pytestmark = pytest.mark.django_db

# A Wednesday in winter, when London's clock and UTC agree.
ON = dt.date(2026, 3, 4)


def at(hour, minute=0, day=ON):
    return dt.datetime.combine(day, dt.time(hour, minute), dt.UTC)


def sheet(*, on=ON, moment=None):
    return daysheet.read(on=on, at=moment or at(12))


def station(key, **asked):
    return next(one for one in sheet(**asked).stations if one.key == key)


def by_hour(key, **asked):
    return {hour.hour: hour.finished for hour in station(key, **asked).hours if hour.finished}


def test_finished_blinds_stand_under_their_station_and_hour(maker):
    first, second, third = released(lines=[{"quantity": 3}], at=at(7))
    work(first, RAILING, by=maker, at=at(8, 59))
    work(second, RAILING, by=maker, at=at(9))
    work(third, RAILING, by=maker, at=at(9, 59))
    assert by_hour(RAILING) == {8: 1, 9: 2}
    assert station(RAILING).finished == 3
    assert station(VANES).finished == 0


def test_an_hour_to_come_has_no_count_and_the_one_that_runs_is_marked(maker):
    hours = {hour.hour: hour for hour in station(RAILING, moment=at(12, 30)).hours}
    assert hours[11].finished == 0
    assert not hours[11].running
    assert hours[12].running
    assert hours[13].finished is None


def test_a_day_gone_by_has_every_hour_and_says_nothing_of_now(maker):
    found = station(RAILING, moment=at(12, day=ON + dt.timedelta(days=1)))
    assert {hour.finished for hour in found.hours} == {0}
    assert found.waiting is None
    assert found.in_hand is None


def test_work_outside_the_usual_hours_widens_the_charts(maker):
    (blind,) = released(at=at(4))
    work(blind, RAILING, by=maker, at=at(5, 10))
    assert [hour.hour for hour in station(RAILING).hours] == list(range(5, 16))


@pytest.mark.parametrize(
    ("on", "utc_hour"),
    # London's summer time starts on 29 March 2026 and ends on 25 October (directive 2000/84/EC): an hour ahead of UTC.
    [(dt.date(2026, 3, 27), 9), (dt.date(2026, 3, 30), 8), (dt.date(2026, 10, 23), 8), (dt.date(2026, 10, 26), 9)],
)
def test_the_hours_are_those_of_the_workshops_clock(maker, on, utc_hour):
    (blind,) = released(at=at(6, day=on))
    work(blind, RAILING, by=maker, at=at(utc_hour, 30, day=on))
    assert by_hour(RAILING, on=on, moment=at(12, day=on)) == {9: 1}


def test_a_day_ends_at_the_workshops_midnight_not_at_utcs(maker):
    # In summer London's midnight is 23:00 UTC.
    first, second = released(lines=[{"quantity": 2}], at=at(6, day=dt.date(2026, 7, 1)))
    work(first, RAILING, by=maker, at=at(22, 59, day=dt.date(2026, 7, 1)))
    work(second, RAILING, by=maker, at=at(23, 0, day=dt.date(2026, 7, 1)))
    later = at(12, day=dt.date(2026, 7, 3))
    found = {on: station(RAILING, on=on, moment=later).finished for on in (dt.date(2026, 7, 1), dt.date(2026, 7, 2))}
    assert found == {dt.date(2026, 7, 1): 1, dt.date(2026, 7, 2): 1}


@pytest.mark.parametrize(
    ("on", "hours"), [(dt.date(2026, 3, 28), 24), (dt.date(2026, 3, 29), 23), (dt.date(2026, 10, 25), 25)]
)
def test_a_day_has_23_hours_when_the_clock_goes_forward_and_25_when_it_goes_back(on, hours):
    day = daybook.day_of(on)
    assert day.ends - day.starts == dt.timedelta(hours=hours)


def test_waiting_and_in_hand_are_told_with_who_holds_what(maker):
    first, second, _ = released(lines=[{"quantity": 3}], at=at(7))
    tell(first, RAILING, route.START, by=maker, at=at(8))
    tell(second, RAILING, route.START, by=maker, at=at(8, 5))
    tell(second, RAILING, route.PAUSE, by=maker, at=at(8, 10))
    found = station(RAILING)
    assert found.waiting == 1
    assert [(held.number, held.person, held.paused) for held in found.in_hand] == [
        (first.number, "Mara L", False),
        (second.number, "Mara L", True),
    ]
    assert sheet().in_hand == 1


def test_a_fault_is_counted_where_it_goes_back_to_and_told_where_it_was_found(maker, checker):
    (blind,) = released(at=at(7))
    make(blind, maker=maker, checker=checker, until=STRINGING, at=at(8))
    tell(blind, CHECKING, route.START, by=checker, at=at(9))
    tell(blind, CHECKING, route.SEND_BACK, by=checker, at=at(9, 5), back_to=RAILING, fault="stiff")
    found = sheet()
    assert found.sent_back == 1
    assert [(f.fault, f.found_at, f.back_to, f.blinds) for f in found.faults] == [
        ("Stiff to draw or tilt", "Checking", "Railing", 1)
    ]
    assert {one.key: one.sent_back for one in found.stations if one.sent_back} == {RAILING: 1}
    assert station(RAILING).waiting == 1


def test_what_was_scrapped_on_the_day_is_added_up_part_by_part(maker, checker):
    yesterday, *blinds = released(lines=[{"quantity": 3}], at=at(6, day=ON - dt.timedelta(days=1)))
    make(yesterday, maker=maker, checker=checker, until=STRINGING, at=at(8, day=ON - dt.timedelta(days=1)))
    tell(yesterday, CHECKING, route.START, by=checker, at=at(9, day=ON - dt.timedelta(days=1)))
    vanes = [{"part": "vanes", "count": 9}]
    tell(
        yesterday,
        CHECKING,
        route.SEND_BACK,
        by=checker,
        at=at(9, 5, day=ON - dt.timedelta(days=1)),
        back_to=VANES,
        fault="vane_length",
        scrapped=vanes,
    )
    for blind in blinds:
        make(blind, maker=maker, checker=checker, until=STRINGING, at=at(8))
        tell(blind, CHECKING, route.START, by=checker, at=at(9))
        scrapped = [{"part": "vanes", "count": 2}, {"part": "rail", "count": 1}]
        fault = {"back_to": RAILING, "fault": "stiff", "scrapped": scrapped}
        tell(blind, CHECKING, route.SEND_BACK, by=checker, at=at(9, 5), **fault)
    assert [(each.part, each.count) for each in sheet().scrapped] == [("Rail", 2), ("Vanes", 4)]
    # Rail and vanes went back, each to where it is made; the fault itself is told once a blind.
    assert {one.key: one.sent_back for one in sheet().stations if one.sent_back} == {RAILING: 2, VANES: 2}
    assert [(fault.fault, fault.blinds) for fault in sheet().faults] == [("Stiff to draw or tilt", 2)]


def test_first_pass_yield_is_what_was_not_sent_back(maker, checker):
    blinds = released(lines=[{"quantity": 4}], at=at(7))
    for blind in blinds:
        make(blind, maker=maker, checker=checker, until=STRINGING, at=at(8))
    tell(blinds[0], CHECKING, route.START, by=checker, at=at(9))
    tell(blinds[0], CHECKING, route.SEND_BACK, by=checker, at=at(9, 5), back_to=RAILING, fault="wrong_count")
    work(blinds[0], RAILING, by=maker, at=at(10))
    found = station(RAILING)
    assert found.finished == 5
    assert (found.passed_today, found.today.entered) == (3, 4)
    assert found.percent_weeks == 75
    assert station(STRINGING).percent_weeks == 100


def test_a_hundred_percent_is_only_said_of_all():
    assert daysheet.percent(daysheet.first_pass_yield(daysheet.flow.Passes(entered=400, reworked=1))) == 99


def test_four_weeks_are_28_days_and_no_more(maker):
    inside, outside = ON - dt.timedelta(days=27), ON - dt.timedelta(days=28)
    first, second = released(lines=[{"quantity": 2}], at=at(6, day=outside))
    work(first, RAILING, by=maker, at=at(8, day=outside))
    work(second, RAILING, by=maker, at=at(8, day=inside))
    assert station(RAILING).weeks.entered == 1


def test_packed_and_ready_are_counted_once_the_last_blind_is_packed(maker, checker):
    first, second = released(lines=[{"quantity": 2}], at=at(7))
    make(first, maker=maker, checker=checker, at=at(8))
    assert (sheet().packed, sheet().orders_ready) == (1, 0)
    make(second, maker=maker, checker=checker, at=at(9))
    assert (sheet().packed, sheet().orders_ready) == (2, 1)


def test_an_order_stays_ready_on_its_day_after_it_was_collected(maker, checker):
    (blind,) = released(at=at(7))
    make(blind, maker=maker, checker=checker, at=at(8))
    intake.mark_collected(order=blind.order, by=blind.order.entered_by, at=at(9, day=ON + dt.timedelta(days=1)))
    assert sheet().orders_ready == 1
    assert sheet(on=ON + dt.timedelta(days=1), moment=at(12, day=ON + dt.timedelta(days=1))).orders_ready == 0


def test_late_and_due_orders_say_where_their_blinds_are_stuck(maker, checker):
    first, second, third = released(lines=[{"quantity": 3}], due_on=ON - dt.timedelta(days=1), at=at(7))
    make(first, maker=maker, checker=checker, at=at(8))
    make(second, maker=maker, checker=checker, until=RAILING, at=at(8))
    tell(second, STRINGING, route.START, by=maker, at=at(9))
    tell(second, STRINGING, route.PAUSE, by=maker, at=at(9, 5))
    (late,) = sheet().late
    assert (late.number, late.packed, late.blinds) == (third.order.number, 1, 3)
    assert late.stuck == ("Railing: 1 waiting", "Vanes: 2 waiting", "Stringing: 1 paused")


def test_an_order_due_today_that_is_not_released_is_told_and_a_draft_is_not():
    confirmed = order(lines=[{}], due_on=ON)
    intake.confirm(order=confirmed, by=confirmed.entered_by, at=at(8))
    order(lines=[{}], due_on=ON)
    order(lines=[{}], due_on=ON + dt.timedelta(days=1))
    assert [(due.number, due.stuck) for due in sheet().due] == [(confirmed.number, ("Not released yet",))]
    assert sheet().late == ()


def test_what_is_packed_is_neither_late_nor_due(maker, checker):
    (blind,) = released(due_on=ON - dt.timedelta(days=1), at=at(7))
    make(blind, maker=maker, checker=checker, at=at(8))
    assert (sheet().late, sheet().due) == ((), ())


def test_a_day_gone_by_says_how_many_of_its_orders_were_ready_in_time(maker, checker):
    (in_time,) = released(due_on=ON, at=at(7))
    (too_late,) = released(due_on=ON, at=at(7))
    make(in_time, maker=maker, checker=checker, at=at(10))
    make(too_late, maker=maker, checker=checker, at=at(10, day=ON + dt.timedelta(days=1)))
    assert sheet(moment=at(12, day=ON + dt.timedelta(days=2))).due_then == (2, 1)


def test_working_days_are_weekdays_and_any_other_day_with_work(maker):
    monday, saturday = dt.date(2026, 3, 9), dt.date(2026, 3, 7)
    (blind,) = released(at=at(7))
    work(blind, RAILING, by=maker, at=at(9, day=saturday))
    days = [one.on for one in sheet(on=monday, moment=at(12, day=monday)).days]
    assert len(days) == 10
    assert days[-4:] == [dt.date(2026, 3, day) for day in (5, 6, 7, 9)]


def test_minutes_each_leave_pauses_out_and_blinds_at_once_are_an_average(maker):
    # One blind from 8:00 to 9:00 with half an hour's pause, one from 8:30 to 9:00: an hour in hand within an hour.
    first, second = released(lines=[{"quantity": 2}], at=at(7))
    for blind, minute in ((first, 0), (second, 30)):
        tell(blind, RAILING, route.START, by=maker, at=at(8, minute))
        enter_steps(blind, RAILING, by=maker, at=at(8, minute))
    tell(first, RAILING, route.PAUSE, by=maker, at=at(8, 10))
    tell(first, RAILING, route.RESUME, by=maker, at=at(8, 40))
    tell(first, RAILING, route.FINISH, by=maker, at=at(9))
    tell(second, RAILING, route.FINISH, by=maker, at=at(9))
    found = station(RAILING)
    assert found.median_min == 30
    assert found.average_in_hand == 1.0


def test_a_blind_in_hand_for_days_counts_on_each_of_them(maker):
    held, *others = released(lines=[{"quantity": 3}], at=at(7))
    tell(held, RAILING, route.START, by=maker, at=at(8))
    thursday, friday, monday = (ON + dt.timedelta(days=number) for number in (1, 2, 5))
    for blind, day in zip(others, (thursday, friday), strict=True):
        work(blind, RAILING, by=maker, at=at(9, day=day))
        work(blind, VANES, by=maker, at=at(11, day=day))
    now = at(12, day=monday)
    in_hand = [station(RAILING, on=day, moment=now).average_in_hand for day in (thursday, friday)]
    assert in_hand == [1.0, 1.0]
    enter_steps(held, RAILING, by=maker, at=at(10, day=monday))
    tell(held, RAILING, route.FINISH, by=maker, at=at(10, day=monday))
    # Now its stage says nothing of those days any more.
    assert [station(RAILING, on=day, moment=now).average_in_hand for day in (thursday, friday)] == in_hand
    assert {each.on for each in HeldDay.objects.filter(blind=held)} >= {thursday, friday}
    assert not HeldDay.objects.filter(blind__in=others).exists()


def test_a_migration_finds_the_days_held_before(maker):
    held, changed, quick = released(lines=[{"quantity": 3}], at=at(7))
    for blind in (held, changed, quick):
        tell(blind, RAILING, route.START, by=maker, at=at(8))
        enter_steps(blind, RAILING, by=maker, at=at(8))
    tell(quick, RAILING, route.FINISH, by=maker, at=at(9))
    tell(held, RAILING, route.PAUSE, by=maker, at=at(9, day=ON + dt.timedelta(days=3)))
    tell(changed, RAILING, route.FINISH, by=maker, at=at(9, day=ON + dt.timedelta(days=5)))
    kept = set(HeldDay.objects.values_list("blind", "on"))
    assert len(kept) == 4 + 6
    HeldDay.objects.all().delete()
    migration = import_module("production.migrations.0013_days_held_before_are_on_record")
    migration.note_those_of_before(apps, None)
    assert set(HeldDay.objects.values_list("blind", "on")) == kept


def test_what_was_at_work_is_looked_up_by_an_index_each(maker):
    (blind,) = released(at=at(7))
    work(blind, RAILING, by=maker, at=at(9))
    with CaptureQueriesContext(connection) as asked:
        assert daybook.log_of(daybook.day_of(ON))
    plans = [plan_of(query["sql"]) for query in asked.captured_queries]
    assert len(plans) == 2
    assert not any("SCAN" in plan or "Seq Scan" in plan for plan in plans), plans
    looks = {
        "sqlite": (
            "event_by_kind_station_and_time (kind=? AND station=? AND at>? AND at<?)",
            "(on=?)",
            "stage_by_station_and_state (station=? AND state=?)",
        ),
        "postgresql": ("event_by_kind_station_and_time", "a_day_held_once"),
    }
    assert [look for look in looks[connection.vendor] if look not in plans[0]] == [], plans[0]


def plan_of(sql):
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute(f"EXPLAIN QUERY PLAN {sql}")
            return " ".join(row[3] for row in cursor.fetchall())
        # It would rather read the few rows of a test through.
        cursor.execute("SET LOCAL enable_seqscan TO off")
        cursor.execute(f"EXPLAIN {sql}")
        return " ".join(row[0] for row in cursor.fetchall())


def test_what_came_last_is_looked_up_by_an_index_on_sqlite_too():
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL reads the few rows of a test through")
    with CaptureQueriesContext(connection) as asked, connection.cursor() as cursor:
        StationEvent.objects.newest(before=at(0))
        cursor.execute(f"EXPLAIN QUERY PLAN {asked.captured_queries[0]['sql']}")
        assert [row[3] for row in cursor.fetchall()] == ["SCAN production_stationevent"]
