"""Every page of the site, by the table of who may open what, each loaded once: no barrier that axe finds, in light and
in dark, on a tablet; at stations nothing too small to touch; every control reached by Tab and seen to have the focus;
nothing beyond the edge or cut off with everything twice as large, at 360 px and at 1920 px; and a station's whole work
with the keyboard alone."""

import datetime as dt
import re

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from orders.roles import ROLE_NAMES
from production import bench, route, steps, tablets
from production.models import Stage
from production.route import RAILING, STRINGING
from tests import factories
from tests.browser.barriers import barriers
from tests.browser.waiting import until
from tests.browser.walked import spilled, unreached
from tests.conftest import SIZES
from tests.orders.who_may_open import ALLOWED, BY_KEY, address, patterns
from tests.tablets import enrolled, sheet
from tests.whole_workshop import names_in_addresses

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# Parts of pages, papers, files, ways to another page, and what only takes what is sent to it.
NO_PAGES = {
    *("start", "language", "sign-out"),
    *("template-sheet", "template-text", "order-sheet", "order-text", "customer-sheet"),
    *("lines-figures", "order-right"),
    *("figures", "customers-found", "station-queue", "blind-cords"),
    *("blind-working", "order-labels", "order-tickets", "pack-label", "rail-label", "ticket", "revision-file"),
    *("badge", "badge-new", "badge-take", "bench-unlock", "tablet-retire", "service-worker", "outbox"),
    *("order-back-to-draft", "change-accept", "change-refuse", "change-withdraw"),
    *("order-promise", "order-confirm", "order-collected", "order-delivered", "station-record", "draft-new"),
    *("plan-late", "order-earliest", "order-promise-day", "absence-new", "absence-remove"),
    *("calendar-close", "calendar-open", "calendar-add-day", "calendar-take-day-off"),
    *("fabric-offer", "fault-move", "fault-use"),
    *("own-others-end", "signed-in-end"),
    *("own-spare-codes", "own-second-step-remove", "person-second-step-remove"),
    "api-openapi",
    *("work-cancel", "work-result"),
    *("health", "ready", "metrics"),
    *BY_KEY,
    *("order-paper", "sent-paper", "letter-again"),
}
# What a page must be asked for to be one.
ASKED = {"scan": "?code=1-1", "find": "?q=marlow"}
BEFORE_SIGNING_IN = {"sign-in", "tablet-sign-in"}
# Opens only to whoever has it to do.
FIRST_THINGS = {"own-first-password", "sign-in-code"}
SMALLEST_PX = 44
TOO_SMALL = """least => [...document.querySelectorAll(
    'a[href], button, input:not([type=hidden]), select, textarea, summary, [role=button], [tabindex="0"]')]
  .filter(each => each.checkVisibility({ visibilityProperty: true }) && !each.closest('.visually-hidden, .skip, svg'))
  .map(each => [each, each.matches('[type=radio], [type=checkbox]') ? each.closest('label') : each])
  // A link may be stretched over the whole row that it stands in.
  .map(([each, near]) => [each, getComputedStyle(each, '::after').position === 'absolute' ? each.offsetParent : near])
  .map(([each, touched]) => [each, touched.getBoundingClientRect()])
  .filter(([, box]) => box.width > 0 && (box.width < least - 0.1 || box.height < least - 0.1))
  .map(([each, box]) => `${each.outerHTML.slice(0, 90)} ${box.width.toFixed(0)} x ${box.height.toFixed(0)}`)"""


@pytest.fixture
def everybody(transactional_db):
    """Somebody with every role, so that every page opens."""
    return factories.person(*ROLE_NAMES, name="alex", first_name="Alex", last_name="Brandt")


@pytest.fixture
def variants(everybody):
    """Values for the names in addresses."""
    return names_in_addresses(everybody)


def pages_for(client, variants):
    """The address of each page that opens, by its name in the table, and the names under which none does.

    What opens first, or is never opened, tells what stands there: a paper is no page under another name either.
    """
    found, none = {}, set()
    for pattern in patterns():
        for arguments in variants:
            where = f"{address(pattern, arguments)}{ASKED.get(pattern.name, '')}"
            answer = client.get(where)
            if answer.status_code in (200, 405):
                break
        html = answer.headers.get("Content-Type", "").startswith("text/html")
        if answer.status_code == 200 and html and b"<main" in answer.content:
            found[pattern.name] = where
        else:
            none.add(pattern.name)
    return found, none


def show_all(page):
    page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
    until(page, "!document.querySelector('.bar')?.inert")


def walk(page, pages):
    """Every page opened on the tablet, with what is wrong on it."""
    wrong = {}
    for name, where in pages.items():
        page.set_viewport_size(SIZES["tablet"]["viewport"])
        page.goto(where)
        show_all(page)
        found = barriers(page)
        if page.locator("body.at-station").count():
            found += page.evaluate(TOO_SMALL, SMALLEST_PX)
        found += unreached(page)
        found += spilled(page)
        if found:
            wrong[name] = found
    return wrong


def test_no_page_has_a_barrier_that_axe_finds_and_no_station_a_thing_too_small_to_touch(
    watched_page, sign_in, everybody, variants, client
):
    client.force_login(everybody)
    pages, none = pages_for(client, variants)
    assert set(pages) | none == set(ALLOWED)
    assert none == NO_PAGES | BEFORE_SIGNING_IN | FIRST_THINGS
    with watched_page("tablet") as page:
        sign_in(page, everybody)
        assert walk(page, pages) == {}


def test_the_pages_before_signing_in_have_none_either(watched_page, live_server, variants, client):
    variants = variants[:1]  # whichever order it is, nobody is let in to it
    pages, _ = pages_for(client, variants)
    assert "sign-in" in pages
    with watched_page("tablet") as page:
        assert walk(page, pages) == {}
    enrolled(client)
    pages, _ = pages_for(client, variants)
    assert "tablet-sign-in" in pages
    with watched_page("tablet") as page:
        secret = client.cookies[tablets.COOKIE].value
        page.context.add_cookies([{"name": tablets.COOKIE, "value": secret, "url": live_server.url}])
        assert walk(page, pages) == {}


def test_the_page_that_is_due_first_has_none_either(watched_page, sign_in, everybody):
    everybody.first_password_until = timezone.now() + dt.timedelta(hours=1)
    everybody.save()
    with watched_page("tablet") as page:
        sign_in(page, everybody)
        assert walk(page, {"own-first-password": "/orders/"}) == {}
        expect(page).to_have_url(re.compile("/you/first-password/$"))


# The keyboard alone.


def seen_focus(page):
    """Whether it can be seen which control has the focus."""
    return page.evaluate(
        """() => {
        const { outlineStyle, outlineWidth } = getComputedStyle(document.activeElement);
        return outlineStyle !== 'none' && parseFloat(outlineWidth) >= 2;
    }"""
    )


def tab_to(page, wanted, *, at_most=60):
    """Press Tab until the control that is wanted has the focus; each one on the way must show that it has it."""
    for _ in range(at_most):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement !== document.body"):
            assert seen_focus(page), page.evaluate("document.activeElement.outerHTML.slice(0, 200)")
        if page.evaluate("wanted => document.activeElement.matches(wanted)", wanted):
            return
    raise AssertionError(f"{wanted} is not reached by {at_most} times Tab")


def enter_with_keys(page, blind, station, **values):
    """Every step from above to below; past the figures, each is near the one before it."""
    found = [found.step for found in bench.read(blind=blind, station=station).steps if found.step.must]
    for number, step in enumerate(found):
        place, at_most = f"#step-{step.key}", 40 if number < 2 else 10
        if step.kind in (steps.COUNT, steps.MEASURE, steps.NOTE):
            tab_to(page, f"{place} input", at_most=at_most)
            page.keyboard.type(str(values.get(step.key, factories.right_value(step))))
            page.keyboard.press("Enter")
            expect(page.locator(f"{place} .verdict")).not_to_be_empty()
        else:
            tab_to(page, f"{place} button", at_most=at_most)
            page.keyboard.press("Enter")
            expect(page.locator(place)).to_contain_text("☑")


@pytest.mark.parametrize("station", [RAILING, STRINGING])
def test_a_stations_whole_work_is_done_with_the_keyboard_alone(tablet, maker, other_maker, station):
    (blind,) = factories.released(lines=[{"special_instruction": "Odd bracket", "concerns": [station]}])
    if station == STRINGING:
        factories.work(blind, RAILING, by=other_maker)
    tablet.goto(f"/stations/{station}/")
    until(tablet, "!document.querySelector('.bar').inert && document.activeElement !== document.body")
    tab_to(tablet, ".bar .main", at_most=150)
    tablet.keyboard.press("Enter")
    expect(tablet).to_have_url(re.compile(sheet(blind, station)))
    until(tablet, "!document.querySelector('.bar').inert")
    enter_with_keys(tablet, blind, station, chain="973")
    until(tablet, "!document.querySelector('.bar').inert")
    tab_to(tablet, ".bar .main")
    tablet.keyboard.press("Enter")
    expect(tablet).to_have_url(re.compile(f"/stations/{station}/$"))
    assert Stage.objects.get(blind=blind, station=station).state == route.DONE


def test_a_blind_is_paused_with_the_keyboard_alone(tablet, maker):
    (blind,) = factories.released()
    factories.tell(blind, RAILING, route.START, by=maker)
    tablet.goto(sheet(blind))
    tab_to(tablet, "#pause summary")
    tablet.keyboard.press("Enter")
    tab_to(tablet, "#pause button")
    tablet.keyboard.press("Enter")
    expect(tablet.locator("#bench")).to_contain_text("Paused: Break")
