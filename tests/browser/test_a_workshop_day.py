"""One order's whole way: telephone, ticket, five stations, a fault put right, out of the door, and on the day sheet."""

import re

import pytest
from playwright.sync_api import expect

from orders.models import Order
from production import bench, route, steps
from production.models import Blind
from production.route import CHECKING, PACKING, RAILING, STRINGING, VANES
from tests import factories

pytestmark = [pytest.mark.browser, pytest.mark.on_both, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def people():
    factories.system()
    factories.fabric(89)
    return {
        "sales": factories.person("sales", name="ines"),
        "railer": factories.person("maker", name="bram"),
        "stringer": factories.person("maker", name="odile"),
        "checker": factories.person("checker", name="tamsin"),
        "manager": factories.person("manager", name="ruben"),
    }


def sign_in_by_form(page, person):
    page.goto("/")
    page.get_by_label("Name you sign in with").fill(person.username)
    page.get_by_label("Password").fill("a-long-passphrase")
    page.keyboard.press("Enter")


def pick(page, group, choice):
    page.get_by_role("group", name=group, exact=True).get_by_label(choice).check()


def enter_order(page):
    """A new customer rings: one split blind of 1830 x 1600 recess, and the same again with a wand for the next room."""
    page.get_by_role("link", name="New order", exact=True).click()
    page.get_by_label("A new customer").check()
    page.get_by_label("Name", exact=True).fill("Marlow Court Interiors")
    page.get_by_role("button", name="Open the order").click()
    page.get_by_role("link", name="Add a line with its drawing").click()
    page.get_by_label("Room", exact=True).fill("Kitchen")
    page.get_by_label("Width").first.fill("1,830")
    page.get_by_label("Drop", exact=False).first.fill("1600")
    pick(page, "Vane width", "89 mm")
    page.get_by_label("Fabric").select_option(label="Linden chalk, 89 mm")
    pick(page, "Draw", "Split")
    pick(page, "Hand", "Left")
    pick(page, "Operation", "Cord and chain")
    pick(page, "Loop control", "Tensioner")
    pick(page, "Chain", "Metal")
    page.get_by_label("Special instruction").first.fill("Odd bracket at the boiler side")
    page.get_by_role("button", name="Save the line").click()


def put_right_and_save(page):
    """The width could be two lengths and the basis was left open: both are said, and what was typed still stands."""
    expect(page.locator("#problems")).to_contain_text("“1,830” could be 1830 mm or 1.83 mm")
    expect(page.locator("#problems")).to_contain_text("recess or exact")
    expect(page.get_by_label("Special instruction").first).to_have_value("Odd bracket at the boiler side")
    page.get_by_label("Width").first.fill("1.83 m")
    expect(page.locator("#id_width_mm_reading")).to_have_text("1.83 m = 1830 mm")
    pick(page, "Size basis", "Recess: measured opening")
    expect(page.locator("#figures")).to_contain_text("1820 × 1588")
    expect(page.locator("#figures")).to_contain_text("EN 13120")
    page.get_by_role("button", name="Save the line").click()


def repeat_with_a_wand(page):
    page.get_by_role("link", name="Repeat the last line").click()
    page.get_by_label("Room", exact=True).fill("Study")
    pick(page, "Operation", "Wand")
    page.get_by_role("button", name="Save the line").click()


def release(page):
    page.get_by_role("button", name="Confirm the order").click()
    page.get_by_role("link", name="Release to the workshop").click()
    page.get_by_role("button", name="Release 2 blinds").click()
    expect(page.get_by_role("link", name="Print tickets")).to_be_visible()


def scan(page, station, code):
    """A scanner types the code and Enter, with no field tapped first."""
    page.goto(f"/stations/{station}/")
    page.keyboard.type(code)
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile(rf"/stations/{station}/{code}/$"))


def press_main(page, name):
    page.locator(".bar").get_by_role("button", name=name).click()


def enter_steps(page, blind, station, *, but=(), **values):
    for found in bench.read(blind=blind, station=station).steps:
        step = found.step
        if not step.must or found.entry or step.key in but:
            continue
        place = page.locator(f"#step-{step.key}")
        if step.kind in (steps.COUNT, steps.MEASURE, steps.NOTE):
            place.get_by_role("textbox").fill(str(values.get(step.key, factories.right_value(step))))
            page.keyboard.press("Enter")
            expect(page.locator(f"#step-{step.key} .verdict")).not_to_be_empty()
        else:
            place.get_by_role("button").click()
            expect(page.locator(f"#step-{step.key}")).to_contain_text("☑")


def work(page, blind, station, **values):
    scan(page, station, blind.code)
    press_main(page, "Start")
    expect(page.locator(".bench-state")).to_contain_text("In hand")
    enter_steps(page, blind, station, **values)
    finish(page, station)


def finish(page, station):
    press_main(page, "Finish")
    expect(page).to_have_url(re.compile(rf"/stations/{station}/$"))


def send_back(page, *, fault, to):
    page.get_by_role("link", name="Pause or send back").click()
    page.get_by_label("What is wrong?").select_option(label=fault)
    page.locator("#send-back").get_by_label(to).check()
    page.locator("#send-back").get_by_role("button", name="Send back").click()


def test_an_order_goes_from_the_telephone_to_the_day_sheet(people, watched_page, sign_in):
    with watched_page("desktop") as desk:
        desk.watch.allow("422")  # the slip at the desk, and a finish with safety still open
        sign_in_by_form(desk, people["sales"])
        enter_order(desk)
        put_right_and_save(desk)
        repeat_with_a_wand(desk)
        release(desk)
        order = Order.objects.get()
        looped, wand = Blind.objects.of_order(order)
        assert (order.state, looped.components["carriers"]["total"], wand.spec["operation"]) == ("released", 24, "wand")
        for paper in ("Print tickets", "Print labels"):
            answer = desk.request.get(desk.get_by_role("link", name=paper).get_attribute("href"))
            assert answer.ok
            assert answer.body().startswith(b"%PDF")

    with watched_page("tablet") as rail, watched_page("tablet") as string:
        for page in (rail, string):
            page.watch.allow("409|422")
        sign_in(rail, people["railer"])
        sign_in(string, people["stringer"])

        string.goto(f"/stations/{STRINGING}/")
        expect(string.locator("#queue")).not_to_contain_text(f"Start stringing {looped.number}")
        for blind in (looped, wand):
            work(rail, blind, RAILING)
        # The other tablet shows it by itself.
        expect(string.locator(".bar")).to_contain_text(f"Start stringing {looped.number}")

        for blind in (looped, wand):
            work(rail, blind, VANES, dye_lot="lot 7")

        scan(string, STRINGING, looped.code)
        press_main(string, "Start")
        enter_steps(string, looped, STRINGING, but=("tag_2",), chain="973")
        expect(string.locator("#step-cut_cord")).to_contain_text("5614 mm")  # 2 x (1814 + 973 + 20)
        press_main(string, "Finish")
        expect(string.locator("#bench .refusal")).to_contain_text("tag 2")
        assert looped.stages.get(station=STRINGING).state == route.IN_HAND
        enter_steps(string, looped, STRINGING)
        finish(string, STRINGING)
        work(string, wand, STRINGING)

    with watched_page("tablet") as check, watched_page("tablet") as string:
        sign_in(check, people["checker"])
        sign_in(string, people["stringer"])
        scan(check, CHECKING, looped.code)
        press_main(check, "Start")
        send_back(check, fault="Safety device or tag missing", to="Stringing")
        expect(check).to_have_url(re.compile(rf"/stations/{CHECKING}/$"))
        work(string, looped, STRINGING, chain="973")
        for blind in (looped, wand):
            work(check, blind, CHECKING)
            work(string, blind, PACKING)

    order.refresh_from_db()
    assert order.state == "ready"
    for blind in (looped, wand):
        stored = {s.station: route.StageState(s.state, s.attempt) for s in blind.stages.all()}
        assert factories.replayed(blind) == stored

    with watched_page("desktop") as desk:
        sign_in(desk, people["sales"])
        desk.goto(f"/orders/{order.number}/")
        desk.get_by_role("button", name="Collected").click()
        order.refresh_from_db()
        assert order.state == "collected"

    with watched_page("desktop") as wall:
        sign_in(wall, people["manager"])
        wall.goto("/day/")
        expect(wall.get_by_role("main")).to_contain_text("Packing")
        wall.goto("/people/")
        wall.watch.allow("403")
        expect(wall.get_by_role("main")).to_contain_text("administrator")
