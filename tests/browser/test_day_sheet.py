"""The day sheet on the wall keeps itself up to date, says when it can't, and is walked with the arrow keys."""

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from production import route
from production.route import RAILING, STRINGING
from tests.browser.barriers import barriers
from tests.factories import make, person, released, tell, work

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

TEN_SECONDS_MS = 10_000


@pytest.fixture
def maker():
    return person("maker", first_name="Mara", last_name="Lind")


@pytest.fixture
def wall(page, sign_in):
    """A page that the manager is signed in on, whose clock the test winds on."""
    sign_in(page, person("manager"))
    page.clock.install()
    return page


def packed(page, station):
    return page.locator(f'[data-figure="{station}-finished"]')


def ten_seconds_later(page):
    with page.expect_response(lambda response: "/day/?seen=" in response.url):
        page.clock.run_for(TEN_SECONDS_MS)


def test_a_sheet_on_the_wall_takes_over_what_was_finished_and_keeps_a_table_open(wall, maker):
    (blind,) = released(at=timezone.now())
    wall.goto("/day/")
    wall.locator("#hours-table summary").click()
    expect(packed(wall, RAILING)).to_have_text("0")
    work(blind, RAILING, by=maker, at=timezone.now())
    ten_seconds_later(wall)
    expect(packed(wall, RAILING)).to_have_text("1")
    expect(packed(wall, RAILING)).to_have_class("number large finished changed")
    expect(packed(wall, STRINGING)).not_to_have_class("number large finished changed")
    expect(wall.locator("#hours-table table")).to_be_visible()


def test_a_sheet_that_gets_no_answer_says_since_when_and_keeps_its_figures(wall, maker):
    wall.watch.allow("ERR_INTERNET_DISCONNECTED")
    wall.watch.allow("console error: htmx:")
    (blind,) = released(at=timezone.now())
    wall.goto("/day/")
    wall.context.set_offline(True)
    wall.clock.run_for(TEN_SECONDS_MS)
    expect(wall.get_by_role("alert")).to_contain_text("No answer since")
    expect(packed(wall, RAILING)).to_have_text("0")
    work(blind, RAILING, by=maker, at=timezone.now())
    wall.context.set_offline(False)
    ten_seconds_later(wall)
    expect(packed(wall, RAILING)).to_have_text("1")
    expect(wall.locator("#day-silent")).to_be_hidden()


def test_a_sheet_whose_reader_was_signed_out_keeps_its_figures_and_says_so(wall):
    wall.goto("/day/")
    wall.context.clear_cookies()
    wall.clock.run_for(TEN_SECONDS_MS)
    expect(wall.get_by_role("alert")).to_contain_text("No answer since")
    expect(packed(wall, RAILING)).to_have_text("0")


def test_the_arrow_keys_turn_to_the_day_before_and_back(page, sign_in):
    sign_in(page, person("manager"))
    page.goto("/day/")
    today = page.get_by_role("heading", level=1).inner_text()
    page.keyboard.press("ArrowLeft")
    page.wait_for_url("**/day/?on=*")
    expect(page.get_by_role("heading", level=1)).not_to_have_text(today)
    page.keyboard.press("ArrowRight")
    page.wait_for_url("**/day/")
    expect(page.get_by_role("heading", level=1)).to_have_text(today)


@pytest.mark.parametrize("page", ["desktop", "tablet", "phone"], indirect=True)
def test_the_sheet_fits_its_screen_and_has_no_barrier_that_axe_finds(page, sign_in, maker):
    checker, now = person("checker"), timezone.now()
    first, second = released(lines=[{"quantity": 2}], at=now, due_on=timezone.localdate(now), rush=True)
    make(first, maker=maker, checker=checker, at=now)
    tell(second, RAILING, route.START, by=maker, at=now)
    tell(second, RAILING, route.SEND_BACK, by=maker, at=now, back_to=RAILING, fault="rail_damaged")
    tell(second, RAILING, route.START, by=maker, at=now)
    sign_in(page, person("manager"))
    page.goto("/day/")
    page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert barriers(page) == []
