"""Tablets at the stations, as makers use them: in step with one another, twice tapped, scanned at, out of reach."""

import re
import time

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from production import bench, route
from production.models import Stage, StationEvent
from production.route import CHECKING, RAILING, STRINGING, VANES
from tests.factories import enter_steps, person, released, right_value, tell, work

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

WITHIN_MS = 2000
OFFLINE = r"ERR_INTERNET_DISCONNECTED|ERR_FAILED|htmx:(sendError|afterRequest)"
REFUSED = r"409|422"


@pytest.fixture
def maker():
    return person("maker", name="mara", first_name="Mara", last_name="Lind")


@pytest.fixture
def other_maker():
    return person("maker", name="tomasz", first_name="Tomasz", last_name="Okafor")


@pytest.fixture
def tablet(watched_page, sign_in, maker):
    """A tablet that the maker is signed in on."""
    with watched_page("tablet") as page:
        sign_in(page, maker)
        yield page


@pytest.fixture
def other_tablet(watched_page, sign_in, other_maker):
    """Another one, that somebody else is signed in on."""
    with watched_page("tablet") as page:
        sign_in(page, other_maker)
        yield page


def sheet(blind, station=RAILING):
    return f"/stations/{station}/{blind.code}/"


def main_button(page):
    return page.locator(".bar .main")


def events(blind, kind):
    return StationEvent.objects.filter(blind=blind, kind=kind).count()


def test_what_one_tablet_starts_the_others_queue_shows_within_two_seconds(tablet, other_tablet):
    first, second = released(lines=[{"quantity": 2}])
    tablet.goto("/stations/railing/")
    other_tablet.goto("/stations/railing/")
    expect(main_button(other_tablet)).to_have_text(re.compile(f"Start railing {first.number}"))
    main_button(tablet).click()
    expect(tablet).to_have_url(re.compile(sheet(first)))
    row = other_tablet.locator(f"#row-{first.code}")
    expect(row).to_contain_text("In hand with Mara Lind", timeout=WITHIN_MS)
    other_tablet.wait_for_timeout(500)
    expect(row).to_have_class(re.compile("changed"))
    expect(row).to_have_css("background-color", "rgb(242, 236, 210)")
    expect(main_button(other_tablet)).to_have_text(re.compile(f"Start railing {second.number}"))
    expect(row).not_to_have_class(re.compile("changed"))  # marked for a moment, and in its place


def test_when_both_press_start_one_has_it_and_the_other_is_told(tablet, other_tablet, maker):
    blind = released()[0]
    other_tablet.watch.allow(REFUSED)
    for page in (tablet, other_tablet):
        page.route("**/queue/**", lambda asked: asked.abort("aborted"))  # neither has heard of the other
        page.goto("/stations/railing/")
    main_button(tablet).click()
    expect(tablet).to_have_url(re.compile(sheet(blind)))
    main_button(other_tablet).click()
    said = other_tablet.get_by_role("alert").filter(has_text="Not recorded")
    expect(said).to_contain_text("It is in hand already")
    expect(said).to_contain_text("Mara Lind")
    assert events(blind, route.START) == 1
    assert Stage.objects.get(blind=blind, station=RAILING).person == maker


def test_a_double_tap_is_one_event(tablet):
    blind = released()[0]
    tablet.goto(sheet(blind))
    main_button(tablet).dblclick()
    expect(main_button(tablet)).to_contain_text("Finish railing")
    assert events(blind, route.START) == 1
    assert events(blind, route.FINISH) == 0
    expect(tablet.get_by_role("alert").filter(has_text="Not recorded")).to_have_count(0)


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

    tablet.route("**/record/", lose_the_first_answer)
    main_button(tablet).click()
    expect(main_button(tablet)).to_contain_text("trying again")
    expect(main_button(tablet)).to_contain_text("Finish railing")
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
    tablet.wait_for_function("!document.querySelector('.bar').inert")
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


def test_slow_keys_are_no_scanner(tablet):
    blind = released()[0]
    tablet.goto(sheet(blind))
    for key in blind.code:
        tablet.keyboard.press(key, delay=0)
        time.sleep(0.08)
    tablet.keyboard.press("Enter")
    expect(tablet).to_have_url(re.compile(sheet(blind)))


def test_a_misread_code_is_said_on_the_queue(tablet):
    released()
    tablet.goto("/stations/railing/")
    type_as_a_scanner(tablet, "0000010011")
    expect(tablet.get_by_role("status").filter(has_text="check digit")).to_be_visible()


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


def test_a_change_made_elsewhere_shows_on_the_sheet(tablet, maker, other_maker):
    blind = released()[0]
    tablet.goto(sheet(blind))
    tell(blind, RAILING, route.START, by=other_maker)
    expect(tablet.locator(".bench-state")).to_contain_text("In hand with Tomasz Okafor", timeout=4000)


def test_a_change_made_elsewhere_takes_nothing_away_that_is_being_typed(tablet, maker, other_maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    tablet.goto(sheet(blind))
    tablet.get_by_label("Measure the clear gap").fill("6")
    tell(blind, RAILING, route.STEP, by=other_maker, key="carriers_left", value=12)
    expect(tablet.get_by_text("Changed elsewhere: Tomasz Okafor")).to_be_visible(timeout=4000)
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
    expect(main_button(tablet)).to_contain_text("trying again")
    assert events(blind, route.START) == 0
    tablet.context.set_offline(False)
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
    with tablet.expect_response("**/queue/**", timeout=500):
        tablet.evaluate(show, True)


def test_a_tablet_whose_person_was_signed_out_asks_to_sign_in(tablet):
    released()
    tablet.goto("/stations/railing/")
    tablet.context.clear_cookies()
    expect(tablet).to_have_url(re.compile("/sign-in/"), timeout=5000)


# Made for gloves, at arm's length.

PAGES = {
    "stations": lambda blinds: "/stations/",
    "queue": lambda blinds: "/stations/railing/",
    "in hand": lambda blinds: sheet(blinds[0]),
    "stringing": lambda blinds: sheet(blinds[1], STRINGING),
    "vanes": lambda blinds: sheet(blinds[1], VANES),
    "not yet": lambda blinds: sheet(blinds[2], CHECKING),
}

SMALL = """() => {
    const touched = 'button, input:not([type=hidden], [type=radio]), select, summary, .row, .place, .coming li';
    const seen = element => element.checkVisibility() && !element.closest(".visually-hidden");
    const small = [];
    for (const element of document.querySelectorAll('main *, main')) {
        const own = [...element.childNodes].some(node => node.nodeType === 3 && node.textContent.trim());
        if (own && seen(element) && !element.closest('svg') && parseFloat(getComputedStyle(element).fontSize) < 18)
            small.push(`text: ${element.tagName} ${element.className} ${element.textContent.trim().slice(0, 30)}`);
    }
    for (const element of document.querySelectorAll(`main :is(${touched})`)) {
        if (seen(element) && element.getBoundingClientRect().height < 55.9)
            small.push(`touch: ${element.tagName} ${element.className} ${element.getBoundingClientRect().height}`);
    }
    if (document.documentElement.scrollWidth > window.innerWidth) small.push('wider than the screen');
    return small;
}"""


@pytest.fixture
def at_work(maker, other_maker):
    """Three blinds: one in hand at railing with a special instruction, one at stringing, one untouched."""
    long_name = "Conservatory on the garden side, above the long low radiator"
    blinds = released(
        lines=[
            {"special_instruction": "Metal chain; odd bracket on the left.", "concerns": [RAILING, STRINGING]},
            {"room": long_name},
            {"draw": "one_way", "vane_width_mm": 127},
        ]
    )
    tell(blinds[0], RAILING, route.START, by=maker)
    work(blinds[1], RAILING, by=other_maker)
    tell(blinds[1], STRINGING, route.START, by=maker)
    tell(blinds[1], STRINGING, route.STEP, by=maker, key="chain", value=975)
    return blinds


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_nothing_is_too_small_to_read_at_arms_length_or_to_touch_in_gloves(watched_page, sign_in, maker, at_work, size):
    found = {}
    with watched_page(size) as page:
        sign_in(page, maker)
        for name, address in PAGES.items():
            page.goto(address(at_work))
            page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
            found[name] = page.evaluate(SMALL)
    assert found == {name: [] for name in PAGES}


def test_the_figures_that_matter_stand_at_least_48_px_tall(tablet, at_work):
    for name in ("in hand", "stringing", "vanes", "not yet"):
        tablet.goto(PAGES[name](at_work))
        sizes = tablet.locator(".figure b:not(.worded)").evaluate_all(
            "found => found.map(each => parseFloat(getComputedStyle(each).fontSize))"
        )
        assert len(sizes) >= 4
        assert min(sizes) >= 48


def test_the_main_button_stands_at_the_same_place_from_queue_to_finish(tablet, at_work):
    places = []
    for name in ("queue", "in hand", "stringing"):
        tablet.goto(PAGES[name](at_work))
        box = main_button(tablet).bounding_box()
        places.append((box["x"], box["y"], box["height"]))
        assert box["height"] >= 56
        assert box["y"] + box["height"] <= 768
    assert len(set(places)) == 1


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_pages_have_no_barrier_that_axe_finds(tablet, at_work, scheme):
    tablet.emulate_media(color_scheme=scheme)
    found = {}
    for name, address in PAGES.items():
        tablet.goto(address(at_work))
        tablet.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
        tablet.wait_for_function("!document.querySelector('.bar')?.inert")
        violations = Axe().run(tablet).response["violations"]
        found[name] = [(each["id"], [node["html"] for node in each["nodes"]]) for each in violations]
    assert found == {name: [] for name in PAGES}
