"""Flow figures against published yields, and against Little's law as an identity of exact numbers."""

import datetime as dt
from fractions import Fraction
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import flow
from production import route

LONDON = ZoneInfo("Europe/London")
MORNING = dt.datetime(2026, 3, 4, 7, 0, tzinfo=dt.UTC)
EVENING = dt.datetime(2026, 3, 4, 16, 0, tzinfo=dt.UTC)
SECOND = dt.timedelta(seconds=1)
# A day has its first instant in it and its last not: that one is the next day's.
EDGES = ((MORNING - SECOND, 0), (MORNING, 1), (EVENING - SECOND, 1), (EVENING, 0), (EVENING + SECOND, 0))
# The worked example of the encyclopaedia article "First-pass yield": steps A to D.
ENTERED = (100, 90, 80, 75)
LEFT = (90, 80, 75, 70)
REWORKED = (5, 0, 10, 8)


def minutes(count):
    return MORNING + dt.timedelta(minutes=count)


def event(kind, *, at, blind="0412-1", station="railing", attempt=1, back_to=""):
    return flow.Event(blind=blind, station=station, kind=kind, attempt=attempt, at=at, back_to=back_to)


def spans(*events):
    return flow.spans_in_hand(events=events)


# Yield


def test_first_time_yields_of_the_published_example_without_rework():
    yields = [flow.first_pass_yield(entered=entered, left=left) for entered, left in zip(ENTERED, LEFT, strict=True)]
    assert [round(float(one), 4) for one in yields] == [0.9, 0.8889, 0.9375, 0.9333]
    assert flow.rolled_throughput_yield(yields=yields) == Fraction(7, 10)


def test_first_pass_yields_of_the_published_example_with_rework():
    yields = [
        flow.first_pass_yield(entered=entered, left=left, reworked=reworked)
        for entered, left, reworked in zip(ENTERED, LEFT, REWORKED, strict=True)
    ]
    assert [round(float(one), 4) for one in yields] == [0.85, 0.8889, 0.8125, 0.8267]
    assert round(float(flow.rolled_throughput_yield(yields=yields)), 6) == 0.507481


def test_rolled_yield_of_a_second_published_example():
    # The same article's second example: .95 x .84 x .88, printed there as .70.
    yields = [Fraction(95, 100), Fraction(84, 100), Fraction(88, 100)]
    assert flow.rolled_throughput_yield(yields=yields) == Fraction(70224, 100000)


def test_a_step_that_nothing_entered_has_no_yield_and_neither_has_the_whole_way():
    nothing = flow.first_pass_yield(entered=0, left=0)
    assert nothing is None
    assert flow.rolled_throughput_yield(yields=[Fraction(1, 2), nothing]) is None


@pytest.mark.parametrize("wrong", [(10, 11, 0), (10, 9, 10), (10, 9, -1)])
def test_more_reworked_than_left_or_more_left_than_entered_is_refused(wrong):
    entered, left, reworked = wrong
    with pytest.raises(ValueError, match=f"{reworked} reworked of {left} that left of {entered}"):
        flow.first_pass_yield(entered=entered, left=left, reworked=reworked)


def test_a_fault_found_at_checking_counts_against_railing_where_it_goes_back_to():
    sent_back = [
        event("finish", at=minutes(10)),
        event("finish", at=minutes(20), station="stringing"),
        event("send_back", at=minutes(30), station="checking", back_to="railing"),
    ]
    passes = flow.first_passes(finished={"railing": 4, "stringing": 3}, sent_back=sent_back, start=MORNING, end=EVENING)
    assert passes == {
        "railing": flow.Passes(entered=4, reworked=1),
        "stringing": flow.Passes(entered=3, reworked=0),
    }


def test_a_blind_made_again_is_not_a_second_first_pass():
    sent_back = [
        event("finish", at=minutes(10)),
        event("send_back", at=minutes(30), station="checking", back_to="railing"),
        event("finish", at=minutes(50), attempt=2),
    ]
    passes = flow.first_passes(finished={"railing": 2}, sent_back=sent_back, start=MORNING, end=EVENING)
    assert passes == {"railing": flow.Passes(entered=1, reworked=1)}
    next_day = {"start": EVENING, "end": EVENING + dt.timedelta(days=1)}
    assert flow.first_passes(finished={"railing": 0}, sent_back=sent_back, **next_day) == {"railing": flow.Passes()}


@pytest.mark.parametrize(("at", "counted"), EDGES)
def test_a_blind_made_again_is_taken_off_the_day_on_which_it_was_made_again(at, counted):
    sent_back = [
        event("finish", at=MORNING - 3 * SECOND),
        event("send_back", at=MORNING - 2 * SECOND, station="checking", back_to="railing"),
        event("finish", at=at, attempt=2),
    ]
    passes = flow.first_passes(finished={"railing": 1}, sent_back=sent_back, start=MORNING, end=EVENING)
    assert passes["railing"].entered == 1 - counted


@pytest.mark.parametrize(("at", "counted"), EDGES)
def test_a_fault_found_later_counts_on_the_day_of_the_first_pass(at, counted):
    sent_back = [
        event("finish", at=at),
        event("send_back", at=EVENING + 3 * SECOND, station="checking", back_to="railing"),
    ]
    passes = flow.first_passes(finished={"railing": 1}, sent_back=sent_back, start=MORNING, end=EVENING)
    assert passes["railing"].reworked == counted


# Finished by the hour


def test_finished_blinds_are_counted_in_the_hours_of_the_workshops_clock():
    # London is an hour ahead of UTC from the last Sunday of March, the 29th in 2026 (directive 2000/84/EC).
    before = event("finish", at=dt.datetime(2026, 3, 27, 8, 30, tzinfo=dt.UTC))
    after = event("finish", at=dt.datetime(2026, 3, 30, 8, 30, tzinfo=dt.UTC))
    week = {"start": dt.datetime(2026, 3, 23, tzinfo=dt.UTC), "end": dt.datetime(2026, 4, 1, tzinfo=dt.UTC)}
    assert flow.finished_by_hour(events=[before, after], zone=LONDON, **week) == {"railing": {8: 1, 9: 1}}


def test_only_what_was_finished_between_start_and_end_is_counted():
    events = [event("finish", at=at) for at in (minutes(-1), MORNING, minutes(30), EVENING, EVENING + SECOND)]
    events.append(event("start", at=minutes(5)))
    counts = flow.finished_by_hour(events=events, start=MORNING, end=EVENING, zone=LONDON)
    assert counts == {"railing": {7: 2}}


# Time in hand


def test_a_pause_is_no_time_in_hand():
    held = spans(
        event("start", at=minutes(0)),
        event("pause", at=minutes(10)),
        event("resume", at=minutes(60)),
        event("finish", at=minutes(65)),
    )
    took = flow.median_time_in_hand(spans=held, start=MORNING, end=EVENING)
    assert took == dt.timedelta(minutes=15)


def test_the_median_is_over_blinds_finished_in_the_window_and_takes_what_they_took_before_it():
    held = spans(
        event("start", at=minutes(-60), blind=1),
        event("pause", at=minutes(-50), blind=1),
        event("resume", at=minutes(0), blind=1),
        event("finish", at=minutes(2), blind=1),
        event("start", at=minutes(3), blind=2),
        event("finish", at=minutes(23), blind=2),
        event("start", at=minutes(30), blind=3),
        event("send_back", at=minutes(90), blind=3, back_to="railing"),
        event("start", at=minutes(-35), blind=4),
        event("finish", at=minutes(-20), blind=4),
    )
    # Blind 1 took 12 minutes and blind 2 took 20; blind 3 was sent back and 4 finished before the day began.
    assert flow.median_time_in_hand(spans=held, start=MORNING, end=EVENING) == dt.timedelta(minutes=16)


@pytest.mark.parametrize(("at", "counted"), EDGES)
def test_the_median_is_over_the_day_with_its_first_instant_and_without_its_last(at, counted):
    held = spans(event("start", at=minutes(-10)), event("finish", at=at))
    took = flow.median_time_in_hand(spans=held, start=MORNING, end=EVENING)
    assert took == (at - minutes(-10) if counted else None)


def test_a_blind_still_in_hand_takes_none_of_the_others_out_of_the_median():
    held = spans(event("start", at=minutes(0), blind=1), event("start", at=minutes(5), blind=2))
    done = spans(event("start", at=minutes(10), blind=3), event("finish", at=minutes(18), blind=3))
    took = flow.median_time_in_hand(spans=[*held, *done], start=MORNING, end=EVENING)
    assert took == dt.timedelta(minutes=8)


def test_a_blind_let_go_without_being_in_hand_was_in_hand_for_no_time():
    assert spans(event("send_back", at=minutes(3), back_to="railing")) == []


def test_a_tick_on_the_way_does_not_let_a_blind_go():
    (span,) = spans(event("start", at=minutes(0)), event("step", at=minutes(3)), event("finish", at=minutes(9)))
    assert (span.began_at, span.ended_at, span.ended_by) == (minutes(0), minutes(9), "finish")


def test_nothing_finished_has_no_median():
    held = spans(event("start", at=minutes(0)))
    assert flow.median_time_in_hand(spans=held, start=MORNING, end=EVENING) is None


def test_two_blinds_half_the_time_are_one_blind_on_average():
    held = spans(
        event("start", at=minutes(0), blind=1),
        event("start", at=minutes(0), blind=2),
        event("finish", at=minutes(30), blind=1),
        event("finish", at=minutes(30), blind=2),
    )
    assert flow.average_in_hand(spans=held, start=MORNING, end=minutes(60)) == 1


@pytest.mark.parametrize("in_hand", [(-30, -20), (-30, 0), (60, 70), (65, 70)])
def test_a_blind_in_hand_only_before_or_after_counts_nothing(in_hand):
    came, left = in_hand
    held = spans(event("start", at=minutes(came)), event("finish", at=minutes(left)))
    assert flow.average_in_hand(spans=held, start=MORNING, end=minutes(60)) == 0


def test_an_average_is_exact_to_the_microsecond():
    microsecond = dt.timedelta(microseconds=1)
    held = spans(event("start", at=MORNING), event("finish", at=MORNING + microsecond))
    assert flow.average_in_hand(spans=held, start=MORNING, end=MORNING + 3 * microsecond) == Fraction(1, 3)


def test_a_blind_still_in_hand_counts_up_to_the_end():
    held = spans(event("start", at=minutes(45)))
    assert flow.average_in_hand(spans=held, start=MORNING, end=minutes(60)) == Fraction(1, 4)


def test_the_published_sum_of_two_streams():
    # Little's law in lecture notes: at a rate of .417 a day, 4.2 and 5.3 days make 1.75 and 2.21 in the system, 3.96.
    # Here 417 come in 1000 days, evenly, and are followed over whole turns so that the window starts and ends empty.
    for days, expected in ((Fraction(42, 10), 1.75), (Fraction(53, 10), 2.21)):
        held = [
            flow.Span(
                blind=n,
                station="s",
                attempt=1,
                began_at=n * Fraction(1000, 417),
                ended_at=n * Fraction(1000, 417) + days,
            )
            for n in range(417)
        ]
        total = flow.time_in_hand(spans=held, start=Fraction(0), end=Fraction(2000))
        assert round(float(total / 1000), 2) == expected


# Little's law as an identity: what `flow` adds up blind by blind is counted here instant by instant.

LOGS = st.lists(
    st.tuples(
        st.integers(0, 5), st.sampled_from(["start", "pause", "resume", "finish", "send_back"]), st.integers(0, 7)
    ),
    max_size=60,
)


def log_of(steps, unit):
    """A possible log: what can't happen to a blind as it stands is left out. `unit` scales the integer times."""
    state, now, events = {}, 0, []
    follows = {
        "start": ("waiting", "in hand"),
        "pause": ("in hand", "paused"),
        "resume": ("paused", "in hand"),
        "finish": ("in hand", "done"),
        "send_back": ("in hand", "waiting"),
    }
    for blind, kind, later in steps:
        now += later
        before, after = follows[kind]
        if state.get(blind, "waiting") == before:
            state[blind] = after
            events.append(event(kind, at=now * unit, blind=blind))
    return events, now * unit, state


def integral_in_hand(events, start, end):
    """The area under the number in hand from `start` to `end`, instant by instant."""
    count, area, since = 0, 0, None
    for happened in events:
        at = min(max(happened.at, start), end)
        area += count * (at - (start if since is None else since))
        count += {"start": 1, "resume": 1}.get(happened.kind, -1)
        since = at
    return area + count * (end - (start if since is None else since))


@given(LOGS, st.fractions(min_value=Fraction(1, 9), max_value=9))
def test_time_in_hand_is_the_integral_of_the_number_in_hand_when_all_are_let_go(steps, unit):
    events, last, state = log_of(steps, unit)
    closing = [event("finish", at=last + unit, blind=blind) for blind, now in state.items() if now == "in hand"]
    held = spans(*events, *closing)
    assert all(span.ended_at is not None for span in held)
    total = flow.time_in_hand(spans=held, start=0, end=last + unit)
    assert total == sum(span.ended_at - span.began_at for span in held)
    assert total == integral_in_hand(events + closing, 0, last + unit)


@given(LOGS, st.integers(0, 200), st.integers(0, 200))
def test_time_in_hand_is_the_integral_in_a_window_that_cuts_spans_off(steps, start, length):
    events, _, _ = log_of(steps, 1)
    total = flow.time_in_hand(spans=spans(*events), start=start, end=start + length)
    assert total == integral_in_hand(events, start, start + length)


def test_the_kinds_of_events_are_those_of_the_route():
    assert {*flow.TAKES_IN_HAND, *flow.LETS_GO} == {*route.AT_A_STATION} - {route.STEP}
