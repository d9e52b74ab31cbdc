"""The plan of a workshop: worked examples, what is refused, and what holds for any workshop."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.order_of_work import place
from calc.plan import loaded, planned
from tests.calc import planning_oracle
from tests.calc.workshops import ROUTE, TUESDAY, order, orders, patient, workshop, workshops

WEDNESDAY, THURSDAY, FRIDAY, MONDAY = (date(2026, 12, day) for day in (2, 3, 4, 7))


def slices(step):
    return [(day.day, minutes) for day, minutes in step.slices]


# Worked examples, by hand


def test_an_order_takes_the_first_free_minutes_at_each_station_of_its_way():
    plan = planned(workshop=workshop(), works=[order("A", railing=600, vanes=100, stringing=480, packing=30)])
    railing, vanes, stringing, packing = sorted(plan.steps["A"], key=lambda step: list(ROUTE).index(step.station))
    assert slices(railing) == [(1, 480), (2, 120)]
    assert (railing.ready, railing.begins, railing.ends, railing.full) == (TUESDAY, TUESDAY, WEDNESDAY, ())
    # The vanes are made beside the rails, and stringing waits for the rails alone.
    assert slices(vanes) == [(1, 100)]
    assert slices(stringing) == [(2, 480)]
    # Nothing to check: packing waits for stringing and the vanes all the same.
    assert (packing.ready, slices(packing)) == (WEDNESDAY, [(2, 30)])
    assert plan.finished == {"A": WEDNESDAY}
    assert plan.free["railing"] == {
        TUESDAY: 0, WEDNESDAY: 360, **dict.fromkeys(workshop().days[2:], 480)
    }  # fmt: skip


def test_checking_waits_for_the_later_of_vanes_and_stringing():
    plan = planned(workshop=workshop(), works=[order("A", railing=10, vanes=481, stringing=10, checking=10)])
    assert plan.finished == {"A": WEDNESDAY}
    (checking,) = (step for step in plan.steps["A"] if step.station == "checking")
    assert (checking.ready, checking.begins, checking.ends) == (WEDNESDAY, WEDNESDAY, WEDNESDAY)


def test_with_a_day_between_stations_an_order_goes_on_the_working_day_after():
    plan = planned(
        workshop=workshop(transfer_days=1), works=[order("A", railing=10, vanes=10, checking=5, first=THURSDAY)]
    )
    assert {step.station: step.begins for step in plan.steps["A"]} == {
        "railing": THURSDAY, "vanes": THURSDAY, "checking": FRIDAY
    }  # fmt: skip
    # Two days between two: the week-end isn't among them.
    plan = planned(workshop=workshop(transfer_days=2), works=[order("A", railing=10, checking=5, first=THURSDAY)])
    assert plan.finished == {"A": MONDAY}


def test_the_next_order_takes_what_the_one_before_left_and_the_days_that_were_full_are_named():
    works = [order("A", due=WEDNESDAY, railing=1000), order("B", due=THURSDAY, railing=500)]
    plan = planned(workshop=workshop(), works=works)
    (step,) = plan.steps["B"]
    assert slices(step) == [(3, 440), (4, 60)]
    assert (step.begins, step.ends, step.full) == (THURSDAY, FRIDAY, (TUESDAY, WEDNESDAY, THURSDAY))
    assert plan.slices["railing"][THURSDAY] == [("A", 40), ("B", 440)]
    assert plan.free["railing"][FRIDAY] == 420


def test_a_later_order_fills_the_days_on_which_one_before_it_cannot_be_begun_yet():
    works = [order("A", due=THURSDAY, first=THURSDAY, railing=480), order("B", due=FRIDAY, railing=700)]
    plan = planned(workshop=workshop(), works=works)
    assert plan.finished == {"A": THURSDAY, "B": WEDNESDAY}
    # Its own work fills Tuesday: that isn't a day on which others were in its way.
    assert plan.steps["B"][0].full == ()


def test_a_day_on_which_nobody_is_there_is_not_full():
    shop = workshop(minutes={"railing": (480, 0, 480)})
    plan = planned(workshop=shop, works=[order("A", due=TUESDAY, railing=480), order("B", railing=480)])
    assert plan.finished == {"A": TUESDAY, "B": THURSDAY}
    assert plan.steps["B"][0].full == (TUESDAY,)
    # A day of one minute is full once that is taken.
    shop = workshop(minutes={"railing": (1, 0, 1)})
    plan = planned(workshop=shop, works=[order("A", due=TUESDAY, railing=1), order("B", railing=1)])
    assert plan.steps["B"][0].full == (TUESDAY,)


def test_what_the_horizon_cuts_off_has_no_day():
    works = [order("A", due=TUESDAY, railing=700, stringing=1), order("B", due=WEDNESDAY, railing=300, stringing=1)]
    plan = planned(workshop=workshop(days=2), works=works)
    assert plan.finished == {"A": WEDNESDAY, "B": None}
    (step,) = plan.steps["B"]
    assert (step.begins, step.ends, slices(step)) == (WEDNESDAY, None, [(2, 260)])
    # B left no minute of Wednesday, and keeps C from stringing nothing.
    plan = planned(workshop=workshop(days=2), works=[*works, order("C", stringing=478), order("D", railing=1)])
    assert (plan.finished["C"], plan.finished["D"]) == (TUESDAY, None)
    (step,) = plan.steps["D"]
    assert (step.begins, step.ends, step.full) == (None, None, (TUESDAY, WEDNESDAY))


def test_an_order_that_waits_beyond_the_horizon_has_no_way():
    late = order("A", first=MONDAY, railing=1)
    plan = planned(workshop=workshop(days=4), works=[late, order("B", first=MONDAY)])
    assert (plan.finished, plan.steps) == ({"A": None, "B": None}, {"A": (), "B": ()})
    for days_between in (1, 2):
        shop = workshop(days=1, transfer_days=days_between)
        plan = planned(workshop=shop, works=[order("A", railing=1, packing=1)])
        assert plan.finished == {"A": None}
        assert [step.station for step in plan.steps["A"]] == ["railing"]


def test_an_order_with_nothing_left_to_do_is_finished_on_the_first_day_that_it_can_be():
    saturday = FRIDAY + timedelta(1)
    assert planned(workshop=workshop(), works=[order("A"), order("B", first=saturday, railing=0)]).finished == {
        "A": TUESDAY, "B": MONDAY
    }  # fmt: skip


def test_a_change_of_width_takes_its_minutes_and_the_first_width_none():
    shop = workshop(setup_minutes={"vanes": 8})
    works = [
        order("N", due=WEDNESDAY, widths=(89,), vanes=100, railing=20),
        order("W", due=WEDNESDAY, widths=(127,), vanes=100, railing=20),
        order("B", due=FRIDAY, widths=(127, 89), vanes=50),
        order("none", due=FRIDAY, vanes=50),
        order("made", due=MONDAY, widths=(127,), railing=5),
        order("M", due=MONDAY + timedelta(1), widths=(127,), vanes=10),
    ]
    plan = planned(workshop=shop, works=works)
    assert plan.slices["vanes"][TUESDAY] == [
        ("N", 100),
        ("W", 108),
        # Without vanes' width it changes nothing, and comes first of its day.
        ("none", 50),
        # From wide to narrow, and back.
        ("B", 66),
        # What has no vanes to make any more left the station as it was.
        ("M", 10),
    ]
    assert plan.slices["railing"][TUESDAY] == [("N", 20), ("W", 20), ("made", 5)]


def test_the_same_work_in_another_sequence_is_another_plan():
    works = [order("A", due=TUESDAY, railing=480), order("B", due=WEDNESDAY, railing=480)]
    assert loaded(workshop=workshop(), sequence=reversed(works)).finished == {"B": TUESDAY, "A": WEDNESDAY}
    assert planned(workshop=workshop(), works=reversed(works)).finished == {"A": TUESDAY, "B": WEDNESDAY}


def test_what_cannot_be_planned_is_refused():
    with pytest.raises(ValueError, match=r"^Order 0412 is there twice\. Give each order once"):
        planned(workshop=workshop(), works=[order("0412"), order("0412", railing=5)])
    with pytest.raises(ValueError, match=r"^Order 0412 has work at sewing, which isn't on the route\.$"):
        planned(workshop=workshop(), works=[order("0412", sewing=1)])
    with pytest.raises(ValueError, match=r"^Order 0412 has -1 min at railing\. Give 0 or more\.$"):
        planned(workshop=workshop(), works=[order("0412", railing=-1)])


def test_more_minutes_can_make_an_order_later_where_one_skips_a_station():
    """So it isn't asserted for any workshop. Found by search; worked out by hand.

    Railing has 2 min a day. A needs 3 there: it ends on the second day. B needs 1 there and comes to packing with A's
    rails, on the second day; C needs only packing, and takes the first day's minute. With 5 min on the first day at
    railing, B is at packing on the first day and takes that minute from C.
    """
    works = [
        order("A", due=TUESDAY, railing=3),
        order("B", due=WEDNESDAY, railing=1, packing=1),
        order("C", due=THURSDAY, packing=1),
    ]
    tight = workshop(minutes={"railing": (2, 2, 2), "packing": (1, 0, 1)})
    roomy = workshop(minutes={"railing": (5, 2, 2), "packing": (1, 0, 1)})
    assert planned(workshop=tight, works=works).finished == {"A": WEDNESDAY, "B": THURSDAY, "C": TUESDAY}
    assert planned(workshop=roomy, works=works).finished == {"A": TUESDAY, "B": TUESDAY, "C": THURSDAY}


# For any workshop


@patient
@given(workshops(), orders())
def test_no_day_holds_more_than_its_minutes_and_a_closed_day_holds_nothing(shop, works):
    plan = planned(workshop=shop, works=works)
    for station in ROUTE:
        assert set(plan.slices[station]) <= set(shop.days)
        for day in shop.days:
            used = sum(minutes for _, minutes in plan.slices[station].get(day, []))
            assert used + plan.free[station][day] == shop.capacity[station].get(day, 0)
            assert plan.free[station][day] >= 0


@patient
@given(workshops(setup=False), orders())
def test_each_order_that_is_finished_has_all_its_minutes_and_the_others_no_more(shop, works):
    plan = planned(workshop=shop, works=works)
    for work in works:
        spent = {step.station: sum(minutes for _, minutes in step.slices) for step in plan.steps[work.key]}
        if plan.finished[work.key]:
            assert spent == {station: minutes for station, minutes in work.minutes.items() if minutes}
        else:
            assert all(minutes <= work.minutes[station] for station, minutes in spent.items())


@patient
@given(workshops(), orders())
def test_no_order_is_at_a_station_before_it_has_left_those_before(shop, works):
    plan = planned(workshop=shop, works=works)
    for work in works:
        steps = {step.station: step for step in plan.steps[work.key]}
        for step in steps.values():
            assert step.ready >= work.first
            assert all(step.ready <= day for day, _ in step.slices)
            for before in ancestors(step.station) & set(steps):
                passed = shop.place_of(steps[before].ends) + shop.transfer_days
                assert shop.place_of(step.ready) >= passed


def ancestors(station):
    return set(ROUTE[station]).union(*(ancestors(before) for before in ROUTE[station]))


@patient
@given(workshops(), orders(), st.randoms(use_true_random=False))
def test_the_plan_does_not_depend_on_the_order_in_which_orders_were_booked(shop, works, shuffler):
    plan = planned(workshop=shop, works=works)
    shuffler.shuffle(works)
    assert planned(workshop=shop, works=works) == plan


@patient
@given(workshops(), orders())
def test_what_is_planned_for_an_order_does_not_depend_on_those_after_it(shop, works):
    *before, last = sorted(works, key=place)
    plan, whole = planned(workshop=shop, works=before), planned(workshop=shop, works=works)
    assert {work.key: whole.steps[work.key] for work in before} == plan.steps
    assert (last.key in whole.steps, last.key in plan.steps) == (True, False)


@patient
@given(workshops(), orders(regular=True), st.data())
def test_more_minutes_make_no_order_later_where_all_can_be_begun_and_need_every_station(shop, works, data):
    station, day = data.draw(st.sampled_from(sorted(ROUTE))), data.draw(st.sampled_from(shop.days))
    by_day = {**shop.capacity[station], day: shop.capacity[station].get(day, 0) + data.draw(st.integers(1, 5))}
    roomy = replace(shop, capacity={**shop.capacity, station: by_day})
    tight, better = planned(workshop=shop, works=works), planned(workshop=roomy, works=works)
    for key, finished in tight.finished.items():
        assert finished is None or better.finished[key] <= finished


@patient
@given(workshops(), orders(regular=True))
def test_an_order_more_makes_no_other_earlier_where_all_can_be_begun_and_need_every_station(shop, works):
    *booked, _ = works
    before, after = planned(workshop=shop, works=booked), planned(workshop=shop, works=works)
    for key, finished in before.finished.items():
        assert after.finished[key] is None or finished <= after.finished[key]


@patient
@given(workshops(), orders())
def test_every_finish_equals_that_of_planning_minute_by_minute(shop, works):
    plan = planned(workshop=shop, works=works)
    assert {key: shop.day_at(at) for key, at in planning_oracle.finishes(shop, works).items()} == plan.finished
