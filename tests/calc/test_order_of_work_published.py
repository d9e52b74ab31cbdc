"""The plan and the order of work against published schedules.

With one minute to a day and a day between stations, a plan in days is a schedule in minutes: each station does one job
after the other, and a job goes on when it is done. So its makespans can be held to those of the literature.
"""

from datetime import date, timedelta
from itertools import permutations

import pytest

from calc.order_of_work import Work, order_of_work
from calc.plan import loaded, planned
from calc.workshop import Workshop
from tests.calc import schedules

FIRST = date(2026, 1, 1)


def at_minute(minute):
    """The day that stands for a minute; minute 1 is the first."""
    return FIRST + timedelta(minute - 1)


def a_row_of(machines, *, minutes):
    days = tuple(at_minute(minute) for minute in range(1, minutes + 1))
    return Workshop(
        route={number: (number - 1,) if number else () for number in range(machines)},
        days=days,
        capacity={number: dict.fromkeys(days, 1) for number in range(machines)},
        transfer_days=1,
    )


def jobs_of(times):
    return {key: Work(key=key, minutes=dict(enumerate(of)), first=FIRST) for key, of in times.items()}


def ends(times, sequence, *, minutes):
    """When each job is done, in minutes from the start."""
    machines = len(next(iter(times.values())))
    jobs = jobs_of(times)
    plan = loaded(workshop=a_row_of(machines, minutes=minutes), sequence=[jobs[key] for key in sequence])
    return {key: (finished - FIRST).days + 1 for key, finished in plan.finished.items()}


def makespan(times, sequence):
    return max(ends(times, sequence, minutes=sum(map(sum, times.values()))).values())


def by_recurrence(times, sequence):
    """The textbook's: a job begins when it has left the machine before and the job before has left this one."""
    done = [0] * len(next(iter(times.values())))
    for key in sequence:
        for machine, minutes in enumerate(times[key]):
            done[machine] = max(done[machine], done[machine - 1] if machine else 0) + minutes
    return done[-1]


# Two machines


@pytest.mark.parametrize("name", schedules.JOHNSON)
def test_published_best_sequences_on_two_machines_have_their_makespans(name):
    times, sequence, shortest, idle = schedules.JOHNSON[name]
    assert makespan(times, sequence) == shortest
    assert shortest - sum(second for _, second in times.values()) == idle
    assert min(by_recurrence(times, each) for each in permutations(times)) == shortest


@pytest.mark.parametrize(("times", "printed", "shortest"), schedules.JOHNSON_MISPRINTS)
def test_no_sequence_reaches_a_makespan_that_was_misprinted(times, printed, shortest):
    best = min(permutations(times), key=lambda sequence: by_recurrence(times, sequence))
    assert makespan(times, best) == shortest > printed


# Five machines


def ta001():
    return dict(enumerate(zip(*schedules.taillard(schedules.TA001_SEED), strict=True)))


def test_the_generated_instance_is_the_published_one():
    times = ta001()
    assert tuple(of[0] for of in times.values()) == schedules.TA001_FIRST_MACHINE
    assert (times[0], times[19]) == (schedules.TA001_FIRST_JOB, schedules.TA001_LAST_JOB)


def test_no_plan_of_the_published_instance_is_shorter_than_its_optimum():
    times = ta001()
    heaviest_first = sorted(times, key=lambda key: -sum(times[key]))
    in_work_order = [work.key for work in order_of_work(jobs_of(times).values())]
    for sequence in (list(times), list(reversed(times)), heaviest_first, in_work_order):
        length = makespan(times, sequence)
        assert length == by_recurrence(times, sequence)
        assert length >= schedules.TA001_SHORTEST


def test_building_up_the_published_instance_job_by_job_reaches_its_known_makespan():
    """The heaviest first, each where it lengthens least (M. Nawaz, E. E. Enscore and I. Ham, Omega 11, 1983).

    That it gives 1286 here is from memory of later papers, and was found again.
    """
    times, sequence = ta001(), []
    for key in sorted(times, key=lambda key: -sum(times[key])):
        tried = ([*sequence[:at], key, *sequence[at:]] for at in range(len(sequence) + 1))
        sequence = min(tried, key=lambda each: by_recurrence(times, each))
    assert makespan(times, sequence) == 1286


# One machine


def one_machine(jobs):
    """Jobs with a due time as orders of one station: who is late by how many minutes, in the order of work."""
    shop = a_row_of(1, minutes=sum(minutes for minutes, _ in jobs.values()))
    works = [
        Work(key=key, minutes={0: minutes}, first=FIRST, due=at_minute(due)) for key, (minutes, due) in jobs.items()
    ]
    finished = planned(workshop=shop, works=works).finished
    return {work.key: (finished[work.key] - work.due).days for work in works}


def test_by_due_day_the_greatest_lateness_is_the_published_least():
    jobs = schedules.JACKSON
    given = ends({key: (minutes,) for key, (minutes, _) in jobs.items()}, schedules.JACKSON_GIVEN, minutes=15)
    assert max(given[key] - due for key, (_, due) in jobs.items()) == schedules.JACKSON_GIVEN_LATENESS
    assert max(one_machine(jobs).values()) == schedules.JACKSON_LEAST_LATENESS


def test_by_due_day_the_greatest_lateness_is_least_though_more_are_late_than_need_be():
    lateness = one_machine(schedules.PINEDO)
    assert max(lateness.values()) == schedules.PINEDO_LEAST_LATENESS
    assert sum(late > 0 for late in lateness.values()) == schedules.PINEDO_LATE_BY_DUE_TIME
