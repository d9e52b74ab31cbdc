"""Tablets in step with one another, twice tapped, and out of reach."""

import re

import pytest
from playwright.sync_api import expect

from production import route
from production.models import Stage
from production.route import RAILING
from tests.browser.waiting import until
from tests.factories import released, tell
from tests.slowed import slowed
from tests.tablets import events, main_button, sheet

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

WITHIN_S = 2
OFFLINE = r"ERR_INTERNET_DISCONNECTED|ERR_FAILED|htmx:(sendError|afterRequest)|fetching the script"
REFUSED = r"409|422"


def test_what_one_tablet_starts_the_others_queue_shows_within_two_seconds(tablet, other_tablet):
    first, second = released(lines=[{"quantity": 2}])
    tablet.goto("/stations/railing/")
    other_tablet.goto("/stations/railing/")
    expect(main_button(other_tablet)).to_have_text(re.compile(f"Start railing {first.number}"))
    main_button(tablet).click()
    expect(tablet).to_have_url(re.compile(sheet(first)))
    row = other_tablet.locator(f"#row-{first.code}")
    expect(row).to_contain_text("In hand with Mara Lind", timeout=slowed(1000 * WITHIN_S))
    other_tablet.wait_for_timeout(500)
    expect(row).to_have_class(re.compile("changed"))
    expect(row).to_have_css("background-color", "rgb(242, 236, 210)")
    expect(main_button(other_tablet)).to_have_text(re.compile(f"Start railing {second.number}"))
    expect(row).not_to_have_class(re.compile("changed"))  # marked for a moment, and in its place


def test_when_both_press_start_one_has_it_and_the_other_is_told(tablet, other_tablet, maker):
    blind = released()[0]
    other_tablet.watch.allow(REFUSED)
    for page in (tablet, other_tablet):
        page.route("**/queue/**", lambda asked: asked.fulfill(status=204))  # neither has heard of the other
        page.goto("/stations/railing/")
    main_button(tablet).click()
    expect(tablet).to_have_url(re.compile(sheet(blind)))
    main_button(other_tablet).click()
    said = other_tablet.get_by_role("alert").filter(has_text="Not recorded")
    expect(said).to_contain_text("It is in hand already")
    expect(said).to_contain_text("Mara Lind")
    assert events(blind, route.START) == 1
    assert Stage.objects.get(blind=blind, station=RAILING).person == maker


def test_two_steps_pressed_before_either_is_answered_are_both_recorded_and_the_sheet_still_follows(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    tablet.goto(sheet(blind))
    tablet.evaluate("for (const key of ['end_sets', 'stops']) document.querySelector(`#step-${key} button`).click()")
    for key in ("end_sets", "stops"):
        expect(tablet.locator(f"#step-{key}")).to_contain_text("☑")
    while events(blind, route.STEP) < 2:  # the second may be sent by itself only after the first is answered
        tablet.wait_for_timeout(50)
    tell(blind, RAILING, route.PAUSE, by=maker, reason="Break")
    expect(tablet.locator("#bench")).to_contain_text("Paused: Break")


def test_a_double_tap_is_one_event(tablet):
    blind = released()[0]
    tablet.goto(sheet(blind))
    main_button(tablet).dblclick()
    expect(main_button(tablet)).to_contain_text("Finish railing")
    assert events(blind, route.START) == 1
    assert events(blind, route.FINISH) == 0
    expect(tablet.get_by_role("alert").filter(has_text="Not recorded")).to_have_count(0)


def test_a_late_second_tap_does_not_press_the_button_that_has_just_taken_its_place(tablet):
    blind = released()[0]
    tablet.goto(sheet(blind))
    box = main_button(tablet).bounding_box()
    tablet.evaluate(
        """([x, y]) => {
            window.under = () => document.elementFromPoint(x, y)?.closest('.main')?.textContent ?? 'nothing';
            document.addEventListener('htmx:afterSwap', () => { window.atOnce = window.under(); });
        }""",
        [box["x"] + box["width"] / 2, box["y"] + box["height"] / 2],
    )
    main_button(tablet).click()
    until(tablet, "window.atOnce")
    assert tablet.evaluate("window.atOnce") == "nothing"
    until(tablet, "window.under().includes('Finish railing')")  # half a second later it may be pressed


def test_an_event_whose_answer_is_lost_is_sent_again_by_itself_and_written_once(tablet):
    blind = released()[0]
    tablet.watch.allow(OFFLINE)
    tablet.goto(sheet(blind))
    sent = []

    def lose_the_first_answer(asked):
        sent.append(asked.request.post_data)
        if len(sent) > 1:
            return asked.fallback()
        asked.fetch()  # it reaches the server, but its answer never comes back
        return asked.abort("failed")

    tablet.route(re.compile("/record/|/outbox/"), lose_the_first_answer)
    main_button(tablet).click()
    expect(main_button(tablet)).to_contain_text("Finish railing")  # it stands as entered all the while
    expect(tablet.locator(".bench-state")).to_contain_text("with you")  # and now as the server has it
    assert len(sent) == 2
    numbers = [re.search(r"event_id=([0-9a-f-]{36})", each).group(1) for each in sent]
    assert numbers[0] == numbers[1]
    assert events(blind, route.START) == 1


def test_the_number_of_an_event_is_made_by_the_tablet_and_is_a_random_uuid(tablet):
    blind = released()[0]
    tablet.goto(sheet(blind))
    rendered = tablet.locator(".bar input[name=event_id]").get_attribute("value")
    with tablet.expect_request("**/record/") as sent:
        main_button(tablet).click()
    made = re.search(r"event_id=([0-9a-f-]{36})", sent.value.post_data).group(1)
    assert made != rendered
    assert re.fullmatch(r"[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}", made)  # RFC 9562, 5.4
    expect(main_button(tablet)).to_contain_text("Finish railing")


def test_a_change_made_elsewhere_shows_on_the_sheet(tablet, maker, other_maker):
    blind = released()[0]
    tablet.goto(sheet(blind))
    tell(blind, RAILING, route.START, by=other_maker)
    expect(tablet.locator(".bench-state")).to_contain_text("In hand with Tomasz Okafor")


def test_a_change_made_elsewhere_takes_nothing_away_that_is_being_typed(tablet, maker, other_maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    tablet.goto(sheet(blind))
    tablet.get_by_label("Measure the clear gap").fill("6")
    tell(blind, RAILING, route.STEP, by=other_maker, key="carriers_left", value=12)
    expect(tablet.get_by_text("Changed elsewhere: Tomasz Okafor")).to_be_visible()
    expect(tablet.get_by_label("Measure the clear gap")).to_have_value("6")
    expect(tablet.get_by_label("Measure the clear gap")).to_be_focused()


def test_a_lost_connection_is_said_and_said_to_be_over(tablet):
    released()
    tablet.watch.allow(OFFLINE)
    tablet.goto("/stations/railing/")
    tablet.context.set_offline(True)
    lost = tablet.get_by_text(re.compile(r"No connection since \d\d:\d\d"))
    expect(lost).to_be_visible()
    expect(tablet.get_by_text("What you see may be old.")).to_be_visible()
    expect(tablet.locator("#queue .next")).to_be_visible()
    tablet.context.set_offline(False)
    expect(lost).to_be_hidden()


def test_a_start_without_connection_is_recorded_once_it_is_back(tablet):
    blind = released()[0]
    tablet.watch.allow(OFFLINE)
    tablet.goto(sheet(blind))
    tablet.context.set_offline(True)
    main_button(tablet).click()
    expect(tablet.locator(".bench-state")).to_contain_text("waiting to be sent")
    assert events(blind, route.START) == 0
    tablet.context.set_offline(False)
    expect(tablet.locator(".bench-state")).to_contain_text("with you")
    expect(main_button(tablet)).to_contain_text("Finish railing")
    assert events(blind, route.START) == 1


def test_a_hidden_tablet_asks_for_nothing_and_at_once_when_it_is_shown(tablet):
    released()
    tablet.goto("/stations/railing/")
    asked = []
    tablet.on("request", lambda request: asked.append(request.url))
    show = """shown => {
        Object.defineProperty(document, 'hidden', { get: () => !shown, configurable: true });
        document.dispatchEvent(new Event('visibilitychange'));
    }"""
    tablet.evaluate(show, False)
    tablet.wait_for_timeout(100)
    asked.clear()
    tablet.wait_for_timeout(2500)
    assert asked == []
    with tablet.expect_request("**/queue/**", timeout=slowed(1000)):
        tablet.evaluate(show, True)


def test_a_tablet_whose_person_was_signed_out_asks_to_sign_in(tablet):
    released()
    tablet.goto("/stations/railing/")
    tablet.context.clear_cookies()
    expect(tablet).to_have_url(re.compile("/sign-in/"))
