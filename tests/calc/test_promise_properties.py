"""What holds for the promises of any workshop, for any orders: against a second way of planning, and as plain rules.

That one order more, or more work in one, makes no promise earlier holds where all orders can be begun on the first day
and need every station; elsewhere it is false now and then (test_plan.py has a case worked out by hand), and so not
asserted.
"""

from dataclasses import replace
from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from calc.plan import planned
from calc.promise import earliest, effect_of, effect_of_change
from tests.calc import planning_oracle
from tests.calc.workshops import ROUTE, orders, patient, workshops


def later_than_all(day):
    return day or date.max


def one_more(works):
    """The last of `works` is the new order."""
    *booked, new = works
    return booked, new


@patient
@given(workshops(), orders())
def test_the_promise_is_the_first_day_that_will_do_when_everybody_is_planned_again_minute_by_minute(shop, works):
    booked, new = one_more(works)
    quote = earliest(workshop=shop, booked=booked, new=new)
    first = (day for day in shop.days if day >= new.first and planning_oracle.will_do(shop, booked, new, day))
    assert quote.day == next(first, None)


@patient
@given(workshops(), orders())
def test_a_promise_is_a_working_day_with_its_buffer_before_it(shop, works):
    booked, new = one_more(works)
    quote = earliest(workshop=shop, booked=booked, new=new)
    if quote.day is None:
        assert (quote.finished, quote.steps) == (None, ())
        return
    assert quote.day in shop.days
    assert new.first <= quote.finished <= quote.day
    assert shop.days_after(quote.finished, quote.day) >= shop.buffer_days


@patient
@given(workshops(), orders())
def test_a_promise_is_never_earlier_than_in_an_empty_workshop_or_than_the_order_alone_is_done(shop, works):
    booked, new = one_more(works)
    quote = earliest(workshop=shop, booked=booked, new=new)
    alone = earliest(workshop=shop, booked=[], new=new)
    assert later_than_all(quote.day) >= later_than_all(alone.day)
    assert later_than_all(quote.day) >= later_than_all(shop.day_at(planning_oracle.finishes(shop, [new])[new.key]))


@patient
@given(workshops(), orders())
def test_orders_booked_as_they_are_quoted_are_all_kept_by_the_plan(shop, works):
    booked = []
    for work in works:
        quote = earliest(workshop=shop, booked=booked, new=work)
        booked += [replace(work, due=quote.day)] if quote.day else []
        plan = planned(workshop=shop, works=booked)
        for each in booked:
            assert shop.days_after(plan.finished[each.key], each.due) >= shop.buffer_days
            assert plan.finished[each.key] <= each.due


@patient
@given(workshops(), orders())
def test_a_quote_leaves_what_was_booked_as_it_was(shop, works):
    booked, new = one_more(works)
    before, plan = list(booked), planned(workshop=shop, works=booked)
    quote = earliest(workshop=shop, booked=booked, new=new)
    assert booked == before
    # Booked and cancelled again, it has left no trace: the same plan, and the same promise.
    assert planned(workshop=shop, works=booked) == plan
    assert earliest(workshop=shop, booked=reversed(booked), new=replace(new, due=quote.day)) == quote


@patient
@given(workshops(), orders())
def test_the_same_order_a_second_time_is_promised_no_earlier(shop, works):
    booked, new = one_more(works)
    quote = earliest(workshop=shop, booked=booked, new=new)
    booked = [*booked, replace(new, due=quote.day or new.due)]
    again = earliest(workshop=shop, booked=booked, new=replace(new, key=99))
    assert later_than_all(again.day) >= later_than_all(quote.day)


@patient
@given(workshops(), orders(regular=True), st.data())
def test_more_work_makes_no_promise_earlier(shop, works, data):
    """As long as it keeps its place: of a day's orders those with less work come first, so it is the only rush."""
    booked, new = one_more(works)
    booked = [replace(work, rush=False) for work in booked]
    station = data.draw(st.sampled_from(sorted(ROUTE)))
    less = replace(new, rush=True)
    more = replace(less, minutes={**new.minutes, station: new.minutes[station] + data.draw(st.integers(1, 5))})
    days = [earliest(workshop=shop, booked=booked, new=each).day for each in (less, more)]
    assert later_than_all(days[0]) <= later_than_all(days[1])


@patient
@given(workshops(), orders(least=2, regular=True))
def test_an_order_more_makes_no_promise_earlier(shop, works):
    """An order without a promise makes way for the others, and one that was quoted breaks no promise."""
    *booked, other, new = works
    other = replace(other, due=earliest(workshop=shop, booked=booked, new=other).day)
    before = earliest(workshop=shop, booked=booked, new=new)
    after = earliest(workshop=shop, booked=[*booked, other], new=new)
    assert later_than_all(before.day) <= later_than_all(after.day)


@patient
@given(workshops(), orders(), st.integers(0, 11))
def test_the_effect_of_a_wanted_day_is_what_both_plans_say(shop, works, at):
    booked, new = one_more(works)
    new = replace(new, due=shop.days[at % len(shop.days)])
    effect = effect_of(workshop=shop, booked=booked, new=new)
    without, among = (planned(workshop=shop, works=each).finished for each in (booked, [*booked, new]))
    assert effect.finished == among[new.key]
    assert effect.on_time == (later_than_all(effect.finished) <= new.due)
    pushed = [
        work.key
        for work in booked
        if work.due and without[work.key] and later_than_all(among[work.key]) > max(work.due, without[work.key])
    ]
    assert sorted(late.key for late in effect.late) == pushed
    for each in effect.moved:
        assert (each.was, each.becomes) == (without[each.key], among[each.key])


@patient
@given(workshops(), orders())
def test_a_promise_can_be_kept_exactly_if_its_effect_says_so(shop, works):
    booked, new = one_more(works)
    found = earliest(workshop=shop, booked=booked, new=new)
    will_do = [
        day
        for day in shop.days
        if day >= new.first and effect_of(workshop=shop, booked=booked, new=replace(new, due=day)).can_be_kept
    ]
    assert found.day == (will_do[0] if will_do else None)


@patient
@given(workshops(), orders(), st.integers(0, 11))
def test_an_order_that_was_not_booked_changes_what_a_new_one_does(shop, works, at):
    booked, new = one_more(works)
    new = replace(new, due=shop.days[at % len(shop.days)])
    effect = effect_of(workshop=shop, booked=booked, new=new)
    change = effect_of_change(workshop=shop, before=booked, after=[*booked, new], key=new.key)
    # Whatever comes before its place isn't touched by it.
    assert change == effect


@patient
@given(workshops(), orders(), st.integers(0, 11))
def test_a_change_makes_late_whom_both_plans_say(shop, works, at):
    others, was = one_more(works)
    becomes = replace(was, due=shop.days[at % len(shop.days)], minutes={"railing": 30 * at})
    effect = effect_of_change(workshop=shop, before=works, after=[*others, becomes], key=was.key)
    first, then = (planned(workshop=shop, works=each).finished for each in (works, [*others, becomes]))
    late = [
        work.key
        for work in others
        if work.due and first[work.key] and later_than_all(then[work.key]) > max(work.due, first[work.key])
    ]
    assert sorted(each.key for each in effect.late) == sorted(late)
    assert effect.finished == then[was.key]
    if effect.can_be_kept:
        assert not late
        assert effect.on_time or later_than_all(then[was.key]) <= later_than_all(first[was.key])
