"""The cord's way at the stringing station: one step at a time by touch and by keyboard, and whole without a script."""

import re

import pytest
from playwright.sync_api import expect

from production import route
from production.route import RAILING, STRINGING
from tests.factories import released, tell, work
from tests.tablets import sheet

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def stringing(maker):
    blind = released(lines=[{"draw": "split"}])[0]
    work(blind, RAILING, by=maker)
    tell(blind, STRINGING, route.START, by=maker)
    return blind


def said(page):
    return page.locator(".cord-walk p")


def shown(page):
    """The steps that are set off in the picture."""
    return {group.get_attribute("data-step") for group in page.locator(".drawing-cord .now").all()}


def test_each_step_is_set_off_and_said_and_the_whole_way_follows_the_last(tablet, stringing):
    tablet.goto(sheet(stringing, STRINGING))
    expect(said(tablet)).to_have_text("All 6 steps")
    assert shown(tablet) == set()
    on = tablet.get_by_role("button", name="Next", exact=True)
    for step, words in enumerate(("lead carrier L", "control end", "round the loop", "window", "idle end", "R"), 1):
        on.tap()
        expect(said(tablet)).to_have_text(re.compile(f"^{step} of 6: .*{words}"))
        assert shown(tablet) == {str(step)}
    on.tap()
    expect(said(tablet)).to_have_text("All 6 steps")
    tablet.get_by_role("button", name="Previous", exact=True).tap()
    assert shown(tablet) == {"6"}


def test_the_buttons_are_as_large_as_a_gloved_thumb_and_the_arrow_keys_do_the_same(tablet, stringing):
    tablet.goto(sheet(stringing, STRINGING))
    for name in ("Previous", "Next"):
        box = tablet.get_by_role("button", name=name, exact=True).bounding_box()
        assert min(box["width"], box["height"]) >= 56
    tablet.get_by_role("button", name="Next", exact=True).press("Enter")
    tablet.keyboard.press("ArrowRight")
    assert shown(tablet) == {"2"}
    tablet.keyboard.press("ArrowLeft")
    assert shown(tablet) == {"1"}


def test_the_step_stays_when_the_sheet_is_renewed(tablet, stringing, maker):
    tablet.goto(sheet(stringing, STRINGING))
    for _ in range(3):
        tablet.get_by_role("button", name="Next", exact=True).tap()
    tell(stringing, STRINGING, route.STEP, by=maker, key="chain", value=975)
    expect(tablet.locator("#value-cord_cut_mm")).to_be_visible()
    expect(said(tablet)).to_have_text(re.compile("^3 of 6: "))
    assert shown(tablet) == {"3"}


def test_without_the_script_the_whole_way_is_shown_and_no_button_that_does_nothing(tablet, stringing):
    tablet.watch.allow("cord.js|ERR_FAILED")
    tablet.route("**/cord*.js", lambda found: found.abort())
    tablet.goto(sheet(stringing, STRINGING))
    expect(tablet.locator(".drawing-cord")).to_be_visible()
    expect(tablet.locator(".cord-walk")).to_be_hidden()
    expect(tablet.get_by_text("clamp the lead carrier R to this run")).to_be_visible()
