"""Opening a figure's working by touch, by keyboard and from the drawing, without leaving the sheet."""

import pytest
from playwright.sync_api import expect

from production import route
from production.route import CHECKING, RAILING, STRINGING
from tests.browser.barriers import barriers
from tests.browser.waiting import until
from tests.factories import make, order, person, released, tell, work
from tests.tablets import main_button, sheet

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def in_hand(maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    return blind


def working(page):
    return page.locator("#working")


def test_a_touched_figure_opens_in_place_and_back_and_escape_close_it(tablet, in_hand):
    tablet.goto(sheet(in_hand))
    address = tablet.url
    figure = tablet.locator("a[data-working='rail_cut_mm'].figure-value")
    figure.tap()
    expect(working(tablet)).to_contain_text("1820 − 2 × 3 = 1814 mm")
    assert tablet.url == address
    expect(main_button(tablet)).to_be_visible()
    covered = tablet.evaluate(
        """() => { const box = document.querySelector('.bar .main').getBoundingClientRect();
        return !!document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2).closest('#working'); }"""
    )
    assert not covered
    tablet.go_back()
    expect(working(tablet)).to_be_hidden()
    expect(figure).to_be_focused()
    assert tablet.url == address
    figure.press("Enter")
    expect(working(tablet)).to_be_focused()
    tablet.keyboard.press("Escape")
    expect(working(tablet)).to_be_hidden()
    expect(figure).to_be_focused()


def test_a_figure_in_the_drawing_opens_and_so_does_the_list_beside_it(tablet, in_hand):
    tablet.goto(sheet(in_hand))
    tablet.locator("svg [data-figure='gap_check_mm'] .touch").tap()
    expect(working(tablet)).to_contain_text("worst case")
    working(tablet).get_by_role("link", name="span", exact=True).tap()
    expect(working(tablet)).to_contain_text("outermost left")
    working(tablet).get_by_role("button", name="Close").tap()
    expect(working(tablet)).to_be_hidden()
    tablet.get_by_text("How each figure is worked out").tap()
    tablet.locator(".all-figures a[data-working='closed_pitch_mm']").tap()
    expect(working(tablet)).to_contain_text("Closed pitch")


def test_an_open_cord_follows_the_chain_that_is_measured_meanwhile(tablet, maker):
    blind = released()[0]
    work(blind, RAILING, by=maker)
    tell(blind, STRINGING, route.START, by=maker)
    tablet.goto(sheet(blind, STRINGING))
    tablet.locator("a.figure-value[data-working='chain_drop_mm']").tap()
    expect(working(tablet)).to_contain_text("chain loop")
    tell(blind, STRINGING, route.STEP, by=maker, key="chain", value=975)
    expect(working(tablet)).to_contain_text("= 975 mm")


def test_without_a_network_it_says_so_and_the_sheet_stays(tablet, in_hand):
    tablet.goto(sheet(in_hand))
    tablet.watch.allow("figures/rail_cut_mm|ERR_FAILED")
    tablet.route("**/figures/**", lambda found: found.abort())
    tablet.locator("a.figure-value[data-working='rail_cut_mm']").tap()
    expect(working(tablet)).to_contain_text("No connection")


def test_without_scripts_the_figure_leads_to_its_page_and_back(browser, live_server, sign_in, in_hand, maker):
    context = browser.new_context(base_url=live_server.url, java_script_enabled=False)
    page = context.new_page()
    sign_in(page, maker)
    page.goto(sheet(in_hand))
    page.locator("a.figure-value[data-working='rail_cut_mm']").click()
    expect(page).to_have_url(f"{live_server.url}/blinds/{in_hand.code}/figures/rail_cut_mm/?at=railing")
    page.get_by_role("link", name="Railing").click()
    expect(page).to_have_url(f"{live_server.url}{sheet(in_hand)}")
    context.close()


def test_at_the_desk_the_drawing_opens_the_figure_in_the_list(page, sign_in, in_hand):
    sign_in(page, person("sales"))
    page.goto(in_hand.get_absolute_url())
    page.locator("svg.drawing-station [data-figure='span_mm'] .touch").first.click()
    opened = page.locator("details#working-span_mm")
    expect(opened).to_have_attribute("open", "")
    expect(opened).to_contain_text("finished width − outermost left − outermost right")
    expect(opened.locator("summary")).to_be_focused()


def test_on_an_order_the_drawing_leads_to_the_line_with_that_figure_open(page, sign_in):
    sign_in(page, person("sales"))
    draft = order(lines=[{}])
    page.goto(draft.get_absolute_url())
    page.locator(".blind-drawing svg [data-figure='rail_cut_mm'] .touch").click()
    page.wait_for_url(f"**/orders/{draft.number}/lines/1/#working-rail_cut_mm")
    expect(page.locator("details[id='working-rail_cut_mm']")).to_have_attribute("open", "")


@pytest.mark.parametrize("size", ["tablet", "desktop", "phone"])
def test_working_and_rules_have_no_barrier_that_axe_finds_and_fit_the_screen(
    watched_page, sign_in, maker, in_hand, size
):
    checker = person("checker", "sales")
    checked = released(by=person("sales"))[0]
    make(checked, maker=maker, checker=checker, until=STRINGING)
    tell(checked, CHECKING, route.START, by=checker)
    draft = order(lines=[{}])
    addresses = {
        "figure": f"/blinds/{in_hand.code}/figures/gap_check_mm/",
        "rules": "/rules/",
        "checking": sheet(checked, CHECKING),
        "blind": in_hand.get_absolute_url(),
        "line": f"/orders/{draft.number}/lines/1/",
    }
    found = {}
    with watched_page(size) as page:
        sign_in(page, checker)
        for name, address in addresses.items():
            page.goto(address)
            page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
            if name == "checking":
                until(page, "!document.querySelector('.bar').inert")
                page.locator("a.figure-value").first.click()
                expect(working(page)).to_contain_text("Source")
            found[name] = barriers(page)
            if page.evaluate("document.documentElement.scrollWidth > window.innerWidth"):
                found[name].append("wider than the screen")
    assert found == {name: [] for name in addresses}
