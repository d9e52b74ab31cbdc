"""Stations made for gloves and arm's length: sizes, places, and no barrier for anyone."""

import pytest

from production import route
from production.route import CHECKING, RAILING, STRINGING, VANES
from tests.browser.barriers import barriers
from tests.browser.waiting import until
from tests.factories import released, tell, work
from tests.tablets import main_button, sheet

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


PAGES = {
    "stations": lambda blinds: "/stations/",
    "queue": lambda blinds: "/stations/railing/",
    "in hand": lambda blinds: sheet(blinds[0]),
    "stringing": lambda blinds: sheet(blinds[1], STRINGING),
    "vanes": lambda blinds: sheet(blinds[1], VANES),
    "not yet": lambda blinds: sheet(blinds[2], CHECKING),
}

SMALL = """() => {
    const ticked = 'input:is([type=radio], [type=checkbox])'; // a tick is touched anywhere on its label
    const fields = `input:not([type=hidden], ${ticked}), label:has(> ${ticked}), select`;
    const touched = `button, ${fields}, summary, .row, .place, .coming li`;
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


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_no_figure_is_torn_in_two_lines_or_runs_out_of_its_box(watched_page, sign_in, maker, at_work, size):
    with watched_page(size) as page:
        sign_in(page, maker)
        page.goto(PAGES["in hand"](at_work))
        torn = page.locator(".figure b:not(.worded)").evaluate_all(
            """found => found.map(each => {
                each.textContent = '1112.5'
                const box = each.closest('.figure')
                const range = document.createRange()
                range.selectNodeContents(each)
                const over = range.getBoundingClientRect().right - box.getBoundingClientRect().right
                return [range.getClientRects().length, over]
            }).filter(([lines, over]) => lines > 1 || over > 0)"""
        )
    assert torn == []


def test_the_main_button_stands_at_the_same_place_from_queue_to_finish(tablet, at_work):
    places = []
    for name in ("queue", "in hand", "stringing"):
        tablet.goto(PAGES[name](at_work))
        box = main_button(tablet).bounding_box()
        places.append((box["x"], box["y"], box["height"]))
        assert box["height"] >= 56
        assert box["y"] + box["height"] <= 768
    assert len(set(places)) == 1


def test_the_pages_have_no_barrier_that_axe_finds(tablet, at_work):
    found = {}
    for name, address in PAGES.items():
        tablet.goto(address(at_work))
        tablet.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
        until(tablet, "!document.querySelector('.bar')?.inert")
        found[name] = barriers(tablet)
    assert found == {name: [] for name in PAGES}
