"""A rail is scrapped at checking: the label made anew, the old one refused, and sales look at the promise."""

import re

import pytest
from playwright.sync_api import expect

from orders.models import Order, PromiseLook
from production import route
from production.models import Blind
from production.route import CHECKING, RAILING
from tests.browser.barriers import barriers
from tests.browser.offline import OFFLINE, away, kept
from tests.factories import person, tell
from tests.tablets import sheet

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def checker(transactional_db):
    return person("checker", name="ines", first_name="Ines", last_name="Halloran")


def scan(page, code):
    """A scanner types the code and Enter, with no field tapped first."""
    page.keyboard.type(code)
    page.keyboard.press("Enter")


def open_form(page, blind):
    page.goto(sheet(blind, CHECKING))
    page.get_by_role("link", name="Pause or send back").click()
    return page.locator("#send-back")


def fill_in(form, *, vanes):
    form.get_by_label("What is wrong?").select_option(label="Rail or rod damaged")
    form.get_by_label("Railing").check()
    form.get_by_label("Rail", exact=True).check()
    form.get_by_label("Vanes", exact=True).last.fill(vanes)
    form.get_by_label("Note").fill("Dent in the front lip")


def test_a_scrapped_rail_is_made_anew_under_a_new_label_and_sales_promise_another_day(
    at_checking, maker, checker, watched_page, sign_in
):
    blind, order = at_checking, at_checking.order
    old_code = blind.label_code
    with watched_page("desktop") as desk, watched_page("tablet") as check, watched_page("tablet") as rail:
        check.watch.allow("422")  # more vanes than the blind has
        sign_in(desk, person("sales", name="nora"))
        sign_in(check, checker)
        sign_in(rail, maker)
        desk.goto(f"/orders/{order.number}/")
        expect(desk.locator("#promise")).to_have_count(0)
        rail.goto("/stations/railing/")

        # Refused with the value and the limit, and nothing that was entered is lost.
        form = open_form(check, blind)
        fill_in(form, vanes="240")
        form.get_by_role("button", name="Send back").click()
        expect(check.locator("#bench .refusal")).to_contain_text(
            "Vanes: “240” can't be scrapped, since this blind has 24. Type 0 to 24."
        )
        expect(form.get_by_label("Rail", exact=True)).to_be_checked()
        expect(form.get_by_label("Railing")).to_be_checked()
        expect(form.get_by_label("Note")).to_have_value("Dent in the front lip")
        form.get_by_label("Vanes", exact=True).last.fill("2")
        form.get_by_role("button", name="Send back").click()

        # The new label is offered at once, where it was found.
        expect(check).to_have_url(re.compile(r"/stations/checking/$"))
        expect(check.locator("main")).to_contain_text(f"{blind.number} is back at railing and vanes")
        offered = check.get_by_role("link", name="Print the new rail label")
        answer = check.request.get(offered.get_attribute("href"))
        assert answer.body().startswith(b"%PDF")

        # The order's page, open all the while on another screen, shows it by itself.
        expect(desk.locator("#promise")).to_contain_text(
            f"{blind.number} was sent back from checking to railing and vanes"
        )

        # The old label is refused at railing, the new one and the number are not.
        remade = Blind.objects.with_order().get(pk=blind.pk)
        expect(rail.locator(f"#row-{blind.code}")).to_contain_text("new rail label")
        scan(rail, old_code)
        expect(rail.get_by_role("alert")).to_contain_text("was scrapped on")
        expect(rail.get_by_role("alert")).to_contain_text("by Ines Halloran, at checking")
        scan(rail, remade.label_code)
        expect(rail).to_have_url(re.compile(sheet(blind, RAILING) + "$"))
        expect(rail.locator("#bench")).to_contain_text("A new rail: new papers 1.")
        expect(rail.locator("#bench")).to_contain_text("Scrapped: 1 × rail, 2 × vanes")

        # Sales promise another day; it stays on record, and the workshop's queue follows it.
        desk.get_by_label("Another day").fill("2030-05-07")
        desk.get_by_role("button", name="Promise this day").click()
        expect(desk.locator("#promise")).to_have_count(0)
        expect(desk.locator(".promise-looks")).to_contain_text("Promise moved from Wed 18 Mar to Tue 7 May 2030: nora")
        assert str(Order.objects.get(pk=order.pk).due_on) == "2030-05-07"
        assert PromiseLook.objects.count() == 1
        rail.goto("/stations/railing/")
        expect(rail.locator(f"#row-{blind.code}")).to_contain_text("due Tue 7 May", ignore_case=True)


def test_a_tick_in_the_form_outlives_a_change_made_elsewhere(at_checking, maker, checker, watched_page, sign_in):
    with watched_page("tablet") as check:
        sign_in(check, checker)
        form = open_form(check, at_checking)
        form.get_by_label("Rail", exact=True).check()
        tell(at_checking, CHECKING, route.STEP, by=checker, key="travel", value=True)
        expect(check.locator("#elsewhere")).to_be_visible()
        expect(form.get_by_label("Rail", exact=True)).to_be_checked()


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_everything_in_the_form_is_large_enough_for_a_glove(at_checking, checker, watched_page, sign_in, size):
    with watched_page(size) as check:
        sign_in(check, checker)
        form = open_form(check, at_checking)
        for field in form.locator("select, textarea, button, .scrapped-parts label, .choices label, summary").all():
            box = field.bounding_box()
            assert box["height"] >= 44, field.evaluate("each => each.outerHTML")
        width = check.evaluate("document.documentElement.scrollWidth")
        assert width <= check.viewport_size["width"]


def test_a_fault_is_recorded_with_the_keyboard_alone(at_checking, checker, page, sign_in):
    sign_in(page, checker)
    form = open_form(page, at_checking)
    form.get_by_label("What is wrong?").focus()
    page.keyboard.type("Stiff")
    page.keyboard.press("Tab")
    page.keyboard.press("Space")  # the first station
    page.keyboard.press("Tab")
    page.keyboard.type("Catches")
    for _ in range(2):
        page.keyboard.press("Tab")
    page.keyboard.press("Space")  # the second part: the rail
    form.get_by_role("button", name="Send back").focus()
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile(r"/stations/checking/$"))
    data = at_checking.events.last().data
    assert (data["fault"], data["back_to"], data["note"]) == ("stiff", RAILING, "Catches")
    assert data["scrapped"] == [{"part": "rail", "count": 1}]


def test_without_a_network_the_old_label_opens_no_sheet_and_the_new_one_does(
    at_checking, maker, checker, watched_page, sign_in
):
    old_code = at_checking.label_code
    rail = [{"part": "rail", "count": 1}]
    fault = {"back_to": RAILING, "fault": "rail_damaged", "scrapped": rail}
    tell(at_checking, CHECKING, route.SEND_BACK, by=checker, **fault)
    new_code = Blind.objects.with_order().get(pk=at_checking.pk).label_code
    with watched_page("tablet") as page:
        page.watch.allow(OFFLINE)
        sign_in(page, maker)
        page.goto("/stations/railing/")
        kept(page, "/stations/railing/", sheet(at_checking, RAILING))
        away(page)
        scan(page, old_code)
        expect(page.get_by_role("main")).to_contain_text(old_code)
        expect(page.locator("#bench")).to_have_count(0)
        page.goto("/stations/railing/")
        scan(page, new_code)
        expect(page.locator("#bench")).to_contain_text("A new rail: new papers 1.")


def test_the_form_the_list_and_the_promise_are_without_a_fault_of_access(at_checking, checker, watched_page, sign_in):
    found = {}
    with watched_page("tablet") as check:
        sign_in(check, checker)
        open_form(check, at_checking)
        found["form"] = barriers(check)
    rail = [{"part": "rail", "count": 1}]
    fault = {"back_to": RAILING, "fault": "rail_damaged", "scrapped": rail}
    tell(at_checking, CHECKING, route.SEND_BACK, by=checker, **fault)
    with watched_page("desktop") as desk:
        sign_in(desk, person("manager", "sales"))
        for address in ("/faults/", "/faults/stiff/", f"/orders/{at_checking.order.number}/", "/orders/", "/day/"):
            desk.goto(address)
            found[address] = barriers(desk)
    assert {name: wrong for name, wrong in found.items() if wrong} == {}


@pytest.mark.parametrize("page", ["desktop", "phone"], indirect=True)
def test_the_manager_puts_the_list_of_faults_in_order(page, sign_in, transactional_db):
    sign_in(page, person("manager"))
    page.goto("/faults/")
    page.get_by_label("Another fault").fill("End cover scratched")
    page.get_by_role("button", name="Add").click()
    expect(page.get_by_role("main")).to_contain_text("is added at the end of the list")
    page.get_by_role("button", name="Up: End cover scratched").click()
    expect(page.locator("tbody tr").nth(13)).to_contain_text("End cover scratched")
    page.get_by_role("button", name="Take out of use: Wrong size").click()
    expect(page.get_by_role("main")).to_contain_text("“Wrong size” is offered no more")
    assert page.evaluate("document.documentElement.scrollWidth") <= page.viewport_size["width"]
