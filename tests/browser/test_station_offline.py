"""A tablet that loses the network goes on: it shows what is entered, keeps it, and sends it once and in order."""

import re

import pytest
from playwright.sync_api import expect

from production import bench, route
from production.models import Stage, StationEvent
from production.route import RAILING, STRINGING
from tests.browser.offline import OFFLINE, away, back, in_reach, kept, sent, waiting
from tests.factories import enter_steps, released, right_value, tell, work
from tests.tablets import events, main_button, sheet

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

QUEUE = "/stations/railing/"


@pytest.fixture(autouse=True)
def means_to_be_offline(tablet):
    tablet.watch.allow(OFFLINE)


def in_hand(maker, *, station=RAILING, but=None, **line):
    """A blind in hand; of its steps only those in `but` are left to enter."""
    blind = released(lines=[line])[0]
    if station == STRINGING:
        work(blind, RAILING, by=maker)
    tell(blind, station, route.START, by=maker)
    if but is not None:
        enter_steps(blind, station, by=maker, but=but)
    return blind


def enter_here(tablet, blind, station=RAILING):
    """Every step, as a careful maker enters it at the tablet."""
    for step in [found.step for found in bench.read(blind=blind, station=station).steps if found.step.must]:
        place = tablet.locator(f"#step-{step.key}")
        if right_value(step) is True:
            place.get_by_role("button").click()
        else:
            place.get_by_role("textbox").fill(str(right_value(step)))
            place.get_by_role("textbox").press("Enter")
        expect(place).to_contain_text("waiting to be sent")


def kinds(blind):
    return [(event.kind, event.data.get("key")) for event in StationEvent.objects.of_blind(blind)]


def test_a_blind_is_made_without_a_network_and_everything_is_sent_once_it_is_back(tablet, maker):
    first, second = released(lines=[{"quantity": 2}])
    tablet.goto(QUEUE)
    kept(tablet, sheet(first), sheet(second))
    away(tablet)
    main_button(tablet).click()
    expect(tablet).to_have_url(re.compile(sheet(first)))
    expect(main_button(tablet)).to_contain_text("Finish railing")
    enter_here(tablet, first)
    expect(tablet.locator("#verdict-gap")).to_contain_text("Within: 63 ±5.2 mm")
    main_button(tablet).click()
    expect(tablet).to_have_url(re.compile(f"{QUEUE}$"))
    expect(tablet.locator(f"#row-{first.code}")).to_contain_text("Finished waiting to be sent")
    main_button(tablet).click()
    expect(tablet).to_have_url(re.compile(sheet(second)))
    main_button(tablet).click()
    expect(main_button(tablet)).to_contain_text("Finish railing")
    expect(waiting(tablet)).to_have_text(
        re.compile(
            r"No connection since \d\d:\d\d\.\s+10 entries are waiting on this tablet; they are sent by themselves"
        )
    )
    assert StationEvent.objects.exclude(kind=route.RELEASE).count() == 0

    back(tablet)
    expect(tablet.locator(".bench-state")).to_contain_text("with you")
    steps = [found.step.key for found in bench.read(blind=first, station=RAILING).steps if found.step.must]
    assert kinds(first)[1:] == [("start", None), *(("step", key) for key in steps), ("finish", None)]
    assert kinds(second)[1:] == [("start", None)]
    assert Stage.objects.get(blind=first, station=RAILING).state == route.DONE
    assert all(event.received_at for event in StationEvent.objects.of_blind(first) if event.kind != route.RELEASE)


def test_a_reload_without_a_network_loses_nothing_entered_and_nothing_half_typed(tablet, maker):
    blind = in_hand(maker)
    tablet.goto(sheet(blind))
    kept(tablet, sheet(blind))
    away(tablet)
    tablet.locator("#step-control_end button").click()
    tablet.get_by_label("Count the left carriers").fill("11")
    tablet.get_by_label("Count the left carriers").press("Enter")
    expect(tablet.locator("#verdict-carriers_left")).to_contain_text("Not 12")
    tablet.get_by_label("Measure the clear gap").fill("6")
    tablet.reload()
    expect(tablet.locator("#step-control_end")).to_contain_text("☑")
    expect(tablet.get_by_label("Count the left carriers")).to_have_value("11")
    expect(tablet.locator("#verdict-carriers_left")).to_contain_text("Not 12. Count again. The lead carrier counts too")
    expect(tablet.get_by_label("Measure the clear gap")).to_have_value("6")
    expect(waiting(tablet)).to_contain_text("2 entries are waiting")
    back(tablet)
    expect(tablet.locator("#step-control_end")).to_contain_text(re.compile(r"☑.*Mara Lind, \d\d:\d\d"))
    expect(tablet.get_by_label("Measure the clear gap")).to_have_value("6")
    assert kinds(blind)[2:] == [("step", "control_end"), ("step", "carriers_left")]


def test_a_closed_browser_loses_nothing_that_was_entered(tablet, maker):
    blind = in_hand(maker)
    tablet.goto(sheet(blind))
    kept(tablet, sheet(blind))
    away(tablet)
    tablet.locator("#step-control_end button").click()
    expect(waiting(tablet)).to_contain_text("1 entry is waiting")
    another = tablet.context.new_page()
    tablet.close()
    in_reach(another)
    another.goto("/stations/")
    sent(another)
    assert kinds(blind)[2:] == [("step", "control_end")]


def test_finish_without_a_network_says_what_is_still_open_and_keeps_nothing(tablet, maker):
    blind = in_hand(maker, but=("stops", "gap"))
    tablet.goto(sheet(blind))
    kept(tablet, sheet(blind), QUEUE)
    away(tablet)
    tablet.get_by_label("Measure the clear gap").fill("143")
    tablet.get_by_label("Measure the clear gap").press("Enter")
    expect(tablet.locator("#verdict-gap")).to_contain_text("Outside 63 ±5.2 mm")
    main_button(tablet).click()
    refusal = tablet.get_by_role("alert").filter(has_text="Not recorded")
    expect(refusal.get_by_role("link")).to_have_count(2)
    expect(refusal).to_contain_text("Outside 63 ±5.2 mm")
    expect(refusal).to_contain_text("Not confirmed yet: 2 rail stops")
    expect(waiting(tablet)).to_contain_text("1 entry is waiting")
    tablet.get_by_label("Measure the clear gap").fill("63")
    tablet.get_by_label("Measure the clear gap").press("Enter")
    tablet.locator("#step-stops button").click()
    expect(tablet.locator("#step-stops")).to_contain_text("waiting to be sent")
    main_button(tablet).click()
    expect(tablet).to_have_url(re.compile(f"{QUEUE}$"))
    back(tablet)
    assert Stage.objects.get(blind=blind, station=RAILING).state == route.DONE


@pytest.mark.parametrize("typed", ["12.5", "abc", "-3"])
def test_what_is_no_count_is_not_taken_without_a_network_and_stays_typed(tablet, maker, typed):
    blind = in_hand(maker)
    tablet.goto(sheet(blind))
    kept(tablet, sheet(blind))
    away(tablet)
    count = tablet.get_by_label("Count the left carriers")
    count.fill(typed)
    count.press("Enter")
    expect(tablet.locator("#verdict-carriers_left")).to_contain_text("Type a whole number from 0 to 999")
    expect(count).to_have_value(typed)
    expect(waiting(tablet)).not_to_contain_text("waiting on this tablet")


def test_pause_and_take_up_again_without_a_network(tablet, maker):
    blind = in_hand(maker)
    tablet.goto(sheet(blind))
    kept(tablet, sheet(blind))
    away(tablet)
    tablet.get_by_text("Pause or send back").click()
    tablet.locator("#pause").get_by_role("button").click()
    expect(tablet.locator(".bench-state")).to_contain_text("Paused waiting to be sent")
    expect(main_button(tablet)).to_contain_text("Take up railing again")
    tablet.reload()
    expect(main_button(tablet)).to_contain_text("Take up railing again")
    main_button(tablet).click()
    expect(main_button(tablet)).to_contain_text("Finish railing")
    tablet.locator("#step-control_end button").click()
    expect(tablet.locator("#step-control_end")).to_contain_text("waiting to be sent")
    back(tablet)
    assert kinds(blind)[2:] == [("pause", None), ("resume", None), ("step", "control_end")]


def test_a_blind_is_sent_back_without_a_network(tablet, maker):
    blind = in_hand(maker)
    tablet.goto(sheet(blind))
    kept(tablet, sheet(blind), QUEUE)  # the way back, seen before or not
    away(tablet)
    tablet.get_by_text("Pause or send back").click()
    back_form = tablet.locator("#send-back")
    back_form.get_by_label("What is wrong?").select_option("stiff")
    back_form.get_by_label("Railing").check()
    back_form.get_by_label("Note").fill("Turns hard")
    back_form.get_by_role("button", name="Send back").click()
    expect(tablet).to_have_url(re.compile(f"{QUEUE}$"))
    expect(tablet.locator(f"#row-{blind.code}")).to_contain_text("Sent back waiting to be sent")
    back(tablet)
    event = StationEvent.objects.of_blind(blind).last()
    assert (event.kind, event.data["fault"], event.data["note"]) == (route.SEND_BACK, "stiff", "Turns hard")


def test_the_cord_is_cut_by_the_measured_chain_without_a_network(tablet, maker):
    blind = in_hand(maker, station=STRINGING)
    tablet.goto(sheet(blind, STRINGING))
    kept(tablet, sheet(blind, STRINGING), f"/blinds/{blind.code}/cords/")
    away(tablet)
    tablet.reload()
    chain = tablet.get_by_label("Measure how far the chain hangs")
    chain.fill("975")
    chain.press("Enter")
    # Cut = 2 x (rail + measured chain + 20) = 2 x (1814 + 975 + 20).
    expect(tablet.locator("#step-cut_cord")).to_contain_text("Cut the cord to 5618 mm; it will hang 995 mm.")
    expect(tablet.locator("[data-box=cord_cut_mm]")).to_contain_text("5618")
    chain.fill("981")
    chain.press("Enter")
    expect(tablet.locator("#step-cut_cord")).to_contain_text("Don't cut the cord")
    expect(tablet.get_by_role("alert").filter(has_text="Stop.")).to_contain_text("a loop may hang 1000 mm")
    chain.fill("800")
    chain.press("Enter")
    expect(tablet.locator("#step-cut_cord")).to_contain_text("comes with the network")
    expect(tablet.locator("[data-box=cord_cut_mm]")).not_to_contain_text("5618")
    back(tablet)
    expect(tablet.locator("#step-cut_cord")).to_contain_text("Cut the cord to 5268 mm")
    assert [event.data["value"] for event in StationEvent.objects.of_blind(blind) if event.kind == route.STEP][-3:] == [
        975,
        981,
        800,
    ]


def test_two_taps_without_a_network_are_one_event(tablet, maker):
    blind = in_hand(maker)
    tablet.goto(sheet(blind))
    kept(tablet, sheet(blind))
    away(tablet)
    tablet.evaluate("for (let tap = 0; tap < 3; tap += 1) document.querySelector('#step-stops button').click()")
    expect(tablet.locator("#step-stops")).to_contain_text("waiting to be sent")
    expect(waiting(tablet)).to_contain_text("1 entry is waiting")
    back(tablet)
    assert events(blind, route.STEP) == 1
