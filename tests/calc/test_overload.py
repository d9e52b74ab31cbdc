"""Which promises would have to move: published examples, every choice tried, and what is never claimed."""

from datetime import date
from itertools import permutations

from hypothesis import given
from hypothesis import strategies as st

from calc.overload import Job, Overload, fewest_late, overload
from calc.plan import loaded
from tests.calc import schedules
from tests.calc.workshops import TUESDAY, order, orders, patient, workshop, workshops

WEDNESDAY, THURSDAY, FRIDAY = (date(2026, 12, day) for day in (2, 3, 4))


def jobs_of(published):
    return [Job(key, minutes, due) for key, (minutes, due) in published.items()]


def late_in(sequence):
    total, late = 0, 0
    for _, minutes, due in sequence:
        total += minutes
        late += total > due
    return late


def test_the_published_example_has_its_two_late_jobs():
    assert set(fewest_late(jobs_of(schedules.PINEDO))) == schedules.PINEDO_LATE


def test_of_ten_published_jobs_eight_are_on_time():
    jobs = jobs_of(schedules.TEN_JOBS)
    late = fewest_late(jobs)
    assert len(jobs) - len(late) == schedules.TEN_JOBS_ON_TIME
    kept = sorted((job for job in jobs if job.key not in late), key=lambda job: job.due_minutes)
    assert late_in(kept) == 0


def test_where_all_fit_nobody_is_late_and_of_two_as_long_the_later_is():
    assert fewest_late([]) == []
    assert fewest_late([Job("A", 5, 5), Job("B", 5, 10)]) == []
    assert fewest_late([Job("A", 5, 9), Job("B", 5, 9)]) == ["B"]
    # In the order in which they were given, not in that in which they were dropped.
    assert fewest_late([Job("A", 9, 9), Job("B", 4, 4), Job("C", 10, 10), Job("D", 1, 10)]) == ["A", "C"]


@patient
@given(st.lists(st.tuples(st.integers(1, 9), st.integers(0, 25)), max_size=6))
def test_no_sequence_has_fewer_late_jobs(times):
    jobs = [Job(at, *each) for at, each in enumerate(times)]
    late = fewest_late(jobs)
    assert len(late) == min(map(late_in, permutations(jobs)))
    assert late_in(sorted((job for job in jobs if job.key not in late), key=lambda job: job.due_minutes)) == 0


# At the stations of a workshop


def test_where_every_promise_fits_there_is_no_overload():
    works = [order("A", due=TUESDAY, railing=480), order("B", due=WEDNESDAY, railing=480), order("C", railing=9999)]
    assert overload(workshop=workshop(), works=works) is None


def test_an_overload_names_the_station_the_first_day_and_who_would_have_to_move():
    works = [
        order("A", due=TUESDAY, railing=400, packing=20),
        order("B", due=WEDNESDAY, railing=500, packing=20),
        order("C", due=WEDNESDAY, railing=120, packing=20),
        order("D", due=THURSDAY, railing=60),
        order("E", due=FRIDAY, stringing=2000),
        order("F", due=THURSDAY, railing=1000),
    ]
    # Railing: 400 of 480 by Tuesday, 1020 of 960 by Wednesday, so B or C; 2080 of 1440 by Thursday, so B and F.
    assert overload(workshop=workshop(), works=reversed(works)) == Overload(
        station="railing", day=WEDNESDAY, promised_minutes=1020, there_minutes=960, moving=("B", "F")
    )
    # Stringing: 2000 of 1920 by Friday.
    assert overload(workshop=workshop(), works=works[4:5]).moving == ("E",)
    assert overload(workshop=workshop(), works=works[4:5]).there_minutes == 1920


def test_of_two_stations_with_as_many_the_first_on_the_route_is_named():
    works = [order("A", due=TUESDAY, railing=500, packing=490)]
    assert overload(workshop=workshop(), works=works).station == "railing"
    both = [*works, order("B", due=TUESDAY, packing=485)]
    assert overload(workshop=workshop(), works=both).station == "packing"


def test_a_day_that_has_gone_by_has_no_minutes_left():
    works = [order("A", due=date(2026, 11, 30), railing=1)]
    assert overload(workshop=workshop(), works=works) == Overload(
        station="railing", day=date(2026, 11, 30), promised_minutes=1, there_minutes=0, moving=("A",)
    )


@patient
@given(workshops(), orders(), st.randoms(use_true_random=False))
def test_no_plan_has_fewer_late_orders_than_are_said_to_have_to_move(shop, works, shuffler):
    """In no sequence whatever."""
    found = overload(workshop=shop, works=works)
    shuffler.shuffle(works)
    finished = loaded(workshop=shop, sequence=works).finished
    late = [work for work in works if work.due and (finished[work.key] is None or finished[work.key] > work.due)]
    assert len(late) >= (len(found.moving) if found else 0)
