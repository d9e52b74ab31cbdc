"""A maker's work at a tablet: scanning, counting, measuring, confirming, finishing."""

import re
import time

import pytest
from playwright.sync_api import expect

from production import bench, route
from production.models import Stage, StationEvent
from production.route import RAILING, STRINGING
from tests.browser.waiting import until
from tests.factories import enter_steps, released, right_value, tell, work
from tests.tablets import events, main_button, sheet

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


REFUSED = r"409|422"


def type_as_a_scanner(page, code):
    """Every key at once, then Enter, as a keyboard wedge does."""
    for key in code:
        page.keyboard.press(key)
    page.keyboard.press("Enter")


@pytest.mark.parametrize("start", ["/stations/railing/", "sheet of another blind"])
def test_a_scanner_leads_to_its_blind_without_a_tap_on_any_field(tablet, start):
    shown, scanned = released(lines=[{"quantity": 2}])
    tablet.goto(sheet(shown) if start.startswith("sheet") else start)
    tablet.evaluate("document.activeElement.blur()")
    type_as_a_scanner(tablet, scanned.code)
    expect(tablet).to_have_url(re.compile(sheet(scanned)))


def test_a_scanner_does_not_press_the_button_that_has_the_focus(tablet):
    shown, scanned = released(lines=[{"quantity": 2}])
    tablet.goto(sheet(shown))
    expect(main_button(tablet)).to_be_enabled()
    until(tablet, "!document.querySelector('.bar').inert")
    main_button(tablet).focus()
    type_as_a_scanner(tablet, scanned.code)
    expect(tablet).to_have_url(re.compile(sheet(scanned)))
    assert events(shown, route.START) == 0


def test_a_scanner_types_into_the_field_of_the_queue_that_has_the_focus(tablet):
    blind = released()[0]
    tablet.goto("/stations/railing/")
    expect(tablet.get_by_label("Scan or type a number")).to_be_focused()
    type_as_a_scanner(tablet, blind.code)
    expect(tablet).to_have_url(re.compile(sheet(blind)))


def test_a_code_that_begins_before_the_field_has_the_focus_is_read_whole(tablet):
    blind = released()[0]
    tablet.goto("/stations/railing/")
    tablet.evaluate("document.activeElement.blur()")
    tablet.keyboard.type(blind.code[:3])
    tablet.get_by_label("Scan or type a number").focus()
    tablet.keyboard.type(blind.code[3:])
    tablet.keyboard.press("Enter")
    expect(tablet).to_have_url(re.compile(sheet(blind)))


def test_after_a_pause_another_code_begins(tablet):
    shown, scanned = released(lines=[{"quantity": 2}])
    tablet.goto(sheet(shown))
    tablet.keyboard.type("000")
    time.sleep(1.6)
    type_as_a_scanner(tablet, scanned.code)
    expect(tablet).to_have_url(re.compile(sheet(scanned)))


def test_a_misread_code_is_said_on_the_queue(tablet):
    released()
    tablet.goto("/stations/railing/")
    type_as_a_scanner(tablet, "0000010011")
    expect(tablet.get_by_role("alert").filter(has_text="check digit")).to_be_visible()


def test_without_script_a_blind_is_started_and_a_step_entered(browser, live_server, sign_in, maker):
    blind = released()[0]
    context = browser.new_context(java_script_enabled=False, base_url=live_server.url)
    page = context.new_page()
    sign_in(page, maker)
    page.goto("/stations/railing/")
    main_button(page).click()
    expect(page).to_have_url(re.compile(sheet(blind)))
    page.get_by_label("Count the left carriers").fill("12")
    page.get_by_label("Count the left carriers").press("Enter")
    expect(page.locator("#verdict-carriers_left")).to_contain_text("Right")
    main_button(page).click()
    expect(page.get_by_role("alert").filter(has_text="Not recorded")).to_contain_text("Not measured yet")
    context.close()
    assert events(blind, route.STEP) == 1


def test_enter_saves_a_measure_and_the_verdict_stands_beside_it(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    tablet.goto(sheet(blind))
    gap = tablet.get_by_label("Measure the clear gap")
    gap.fill("63")
    gap.press("Enter")
    expect(tablet.locator("#verdict-gap")).to_contain_text("Within: 63 ±5.2 mm")
    gap.fill("143")
    gap.press("Enter")
    expect(tablet.locator("#verdict-gap")).to_contain_text("Outside")
    assert events(blind, route.STEP) == 2


def test_a_count_put_right_and_put_back_is_three_events(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    tablet.goto(sheet(blind))
    count, verdict = tablet.get_by_label("Count the left carriers"), tablet.locator("#verdict-carriers_left")
    for value, words in (("12", "Right"), ("11", "Not 12"), ("12", "Right")):
        count.fill(value)
        count.press("Enter")
        expect(verdict).to_contain_text(words)
    assert [event.data["value"] for event in StationEvent.objects.of_blind(blind).filter(kind=route.STEP)] == [
        12,
        11,
        12,
    ]


def test_saving_one_step_keeps_what_is_typed_for_another(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    tablet.goto(sheet(blind))
    tablet.get_by_label("Measure the clear gap").fill("63")
    tablet.get_by_text("Pause or send back").click()
    tablet.get_by_label("What is wrong?").select_option("stiff")
    tablet.get_by_label("Note").fill("Turns hard at the idle end")
    tablet.locator("#send-back").get_by_label("Railing").check()
    tablet.locator("#step-control_end button").click()
    expect(tablet.locator("#step-control_end")).to_contain_text("☑")
    expect(tablet.get_by_label("Measure the clear gap")).to_have_value("63")
    expect(tablet.get_by_label("What is wrong?")).to_have_value("stiff")
    expect(tablet.get_by_label("Note")).to_have_value("Turns hard at the idle end")
    expect(tablet.locator("#send-back").get_by_label("Railing")).to_be_checked()


def test_the_cord_is_cut_to_what_follows_from_the_measured_chain(tablet, maker):
    blind = released()[0]
    work(blind, RAILING, by=maker)
    tell(blind, STRINGING, route.START, by=maker)
    tablet.goto(sheet(blind, STRINGING))
    cord = tablet.locator(".figures > .figure").filter(has_text="Cord cut")
    expect(cord).to_contain_text("after measuring the chain")
    tablet.get_by_label("Measure how far the chain hangs").fill("975")
    tablet.get_by_label("Measure how far the chain hangs").press("Enter")
    expect(cord).to_contain_text("5618")


def test_finish_with_open_steps_keeps_what_was_typed_and_leads_to_each_of_them(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    tablet.watch.allow(REFUSED)
    tablet.goto(sheet(blind))
    tablet.get_by_label("Measure the clear gap").fill("63")
    main_button(tablet).click()
    refusal = tablet.get_by_role("alert").filter(has_text="Not recorded")
    expect(refusal).to_be_in_viewport()
    expect(tablet.get_by_label("Measure the clear gap")).to_have_value("63")
    refusal.get_by_role("link", name="Not measured yet").click()
    expect(tablet.locator("#step-gap")).to_be_in_viewport()


def test_the_safety_steps_of_a_loop_cannot_be_skipped(tablet, maker):
    blind = released()[0]
    work(blind, RAILING, by=maker)
    tell(blind, STRINGING, route.START, by=maker)
    safety = ("device", "tag_1", "tag_2", "front_warning")
    enter_steps(blind, STRINGING, by=maker, but=safety)
    tablet.watch.allow(REFUSED)
    tablet.goto(sheet(blind, STRINGING))
    for left, key in enumerate(safety):
        main_button(tablet).click()
        refusal = tablet.get_by_role("alert").filter(has_text="Not recorded")
        expect(refusal.get_by_role("link")).to_have_count(len(safety) - left)
        tablet.locator(f"#step-{key} button").click()
        expect(tablet.locator(f"#step-{key}")).to_contain_text("☑")
    assert Stage.objects.get(blind=blind, station=STRINGING).state == route.IN_HAND
    main_button(tablet).click()
    expect(tablet).to_have_url(re.compile("/stations/stringing/$"))
    expect(tablet.get_by_role("status")).to_contain_text(f"Stringing of {blind.number} is finished")


def test_a_maker_takes_a_blind_through_railing_and_goes_on_to_the_next(tablet):
    first, second = released(lines=[{"quantity": 2}])
    tablet.goto("/stations/railing/")
    main_button(tablet).click()
    expect(main_button(tablet)).to_contain_text("Finish railing")
    for step in [found.step for found in bench.read(blind=first, station=RAILING).steps if found.step.must]:
        place = tablet.locator(f"#step-{step.key}")
        if right_value(step) is True:
            place.get_by_role("button").click()
            expect(place).to_contain_text("☑")
        else:
            place.get_by_role("textbox").fill(str(right_value(step)))
            place.get_by_role("textbox").press("Enter")
            expect(place.locator(".verdict")).to_contain_text("●")
    main_button(tablet).click()
    expect(tablet.get_by_role("status")).to_contain_text(f"Railing of {first.number} is finished")
    expect(main_button(tablet)).to_contain_text(f"Start railing {second.number}")
