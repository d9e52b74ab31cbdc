"""A salesperson with the customer on the phone: the keyboard alone, figures beside the line as it is typed."""

import pytest
from playwright.sync_api import expect

from orders.models import Customer, Fabric, Order
from tests import factories
from tests.browser.barriers import barriers_in_light

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def sales():
    factories.system()
    for width in (89, 127):
        factories.fabric(width)
    Fabric.objects.create(code="moss-89", name="Dunmore", colour="moss", vane_width_mm=89, weight_g_per_m2=190)
    return factories.person("sales", name="nora")


@pytest.fixture
def line_form(page, sign_in, sales):
    """The form of a new line, opened."""
    order = factories.order(by=sales)
    sign_in(page, sales)
    page.goto(f"/orders/{order.number}/lines/new/")
    return page


def keys(page, *pressed):
    for key in pressed:
        page.keyboard.press(key)


def focused(page):
    return page.evaluate("document.activeElement.name || document.activeElement.id")


def test_a_line_is_entered_with_the_keyboard_alone(line_form):
    page = line_form
    assert focused(page) == "room"
    page.keyboard.type("Kitchen")
    keys(page, "Tab", "Tab", "Space")  # over the quantity, to Recess
    keys(page, "Tab")
    page.keyboard.type("1830")
    keys(page, "Tab")
    page.keyboard.type("1600")
    keys(page, "Tab", "Tab")  # over the vane width, to the fabric
    page.keyboard.type("Linden")
    keys(page, "Tab", "Tab", "ArrowRight")  # over the draw, to the right hand
    expect(page.locator("#figures")).to_contain_text("1820 × 1588")
    assert focused(page) == "hand"
    keys(page, "Enter")
    expect(page.locator("h1")).to_contain_text("Order 0001")
    line = Order.objects.get().lines.get()
    assert (line.room, line.size_basis, line.hand, str(line.fabric)) == (
        "Kitchen",
        "recess",
        "right",
        "Linden chalk, 89 mm",
    )


def test_the_figures_follow_what_is_typed_and_the_focus_stays(line_form):
    page = line_form
    page.locator("#id_width_mm").fill("1830")
    page.locator("#id_drop_mm").press_sequentially("1600")
    expect(page.locator("#figures")).to_contain_text("Still needed: recess or exact, fabric, hand.")
    assert focused(page) == "drop_mm"
    page.get_by_label("Exact: finished blind").check()
    page.locator("#id_fabric").select_option(label="Linden chalk, 89 mm")
    page.get_by_label("Left", exact=True).check()
    expect(page.locator("#figures tr.chosen .finished")).to_have_text("1830 × 1600")
    expect(page.locator("#figures svg.drawing")).to_be_visible()
    expect(page.locator("#figures-said")).to_contain_text("Finished 1830 by 1600 millimetres")


def type_a_line(page):
    """What must be said of a line before its figures stand beside it."""
    page.get_by_label("Recess: measured opening").check()
    page.locator("#id_width_mm").fill("1830")
    page.locator("#id_drop_mm").fill("1600")
    page.locator("#id_fabric").select_option(label="Linden chalk, 89 mm")
    page.get_by_label("Left", exact=True).check()


def test_a_working_that_was_opened_stays_open_as_the_figures_change(line_form):
    page = line_form
    type_a_line(page)
    rail = page.locator("[id='working-rail_cut_mm']")
    rail.locator("summary").click()
    expect(rail).to_contain_text("1820 − 2 × 3")
    page.locator("#id_width_mm").fill("2000")
    expect(rail).to_contain_text("1990 − 2 × 3")
    expect(rail).to_have_attribute("open", "")


def test_a_figure_on_the_drawing_opens_its_working(line_form):
    page = line_form
    type_a_line(page)
    page.locator("#figures svg [data-figure='rail_cut_mm'] .touch").click()
    expect(page.locator("[id='working-rail_cut_mm']")).to_have_attribute("open", "")


def test_a_wand_shuts_the_fields_of_a_loop_and_says_why(line_form):
    page = line_form
    expect(page.get_by_text("A wand blind has no cord and no chain")).to_be_hidden()
    page.get_by_label("Wand", exact=True).check()
    expect(page.get_by_text("A wand blind has no cord and no chain")).to_be_visible()
    for name in ("loop_control", "chain", "control_drop_mm"):
        expect(page.locator(f"[name='{name}']").first).to_be_disabled()
    page.get_by_label("Cord and chain", exact=True).check()
    expect(page.locator("#id_control_drop_mm")).to_be_enabled()


def test_only_fabric_of_the_vane_width_is_offered_and_the_same_cloth_is_taken_over(line_form):
    page = line_form
    fabric = page.locator("#id_fabric")
    assert fabric.locator("option").all_inner_texts() == [
        "Choose a fabric",
        "Dunmore moss, 89 mm",
        "Linden chalk, 89 mm",
    ]
    fabric.select_option(label="Linden chalk, 89 mm")
    page.get_by_label("127 mm").check()
    assert fabric.locator("option:checked").inner_text() == "Linden chalk, 127 mm"
    page.get_by_label("89 mm").check()
    fabric.select_option(label="Dunmore moss, 89 mm")
    page.get_by_label("127 mm").check()
    assert fabric.locator("option:checked").inner_text() == "Choose a fabric"


def test_a_refused_line_comes_back_with_the_focus_on_what_is_wrong(line_form):
    page = line_form
    page.watch.allow("422")
    page.locator("#id_room").fill("Bay")
    page.locator("#id_width_mm").fill("1,5")
    page.get_by_role("button", name="Save the line").click()
    expect(page.locator("#problems")).to_be_focused()
    assert page.locator("#id_room").input_value() == "Bay"
    assert page.locator("#id_width_mm").input_value() == "1,5"
    page.locator("#problems").get_by_role("link", name="Size basis").click()
    assert focused(page) == "size_basis"
    page.locator("#problems").get_by_role("link", name="Width").click()
    assert focused(page) == "width_mm"


def test_save_and_repeat_opens_the_next_room(line_form):
    page = line_form
    page.locator("#id_room").fill("Bay")
    page.get_by_label("Exact: finished blind").check()
    page.locator("#id_width_mm").fill("1830")
    page.locator("#id_drop_mm").fill("1600")
    page.locator("#id_fabric").select_option(label="Linden chalk, 89 mm")
    page.get_by_label("Left", exact=True).check()
    page.get_by_role("button", name="Save and repeat").click()
    expect(page.locator(".message")).to_contain_text("Line 1 is added.")
    assert focused(page) == "room"
    assert page.locator("#id_room").input_value() == ""
    assert page.locator("#id_width_mm").input_value() == "1830"
    expect(page.get_by_label("Exact: finished blind")).to_be_checked()
    expect(page.locator("#figures")).to_contain_text("Carriers and vanes")


def test_an_order_is_opened_by_typing_part_of_the_customers_name(page, sign_in, sales):
    factories.customer("Wattle Bay Holiday Flats")
    factories.customer("Petrov")
    sign_in(page, sales)
    page.goto("/orders/new/")
    page.keyboard.type("wattle")
    expect(page.locator("#customer-choices")).to_contain_text("Wattle Bay Holiday Flats")
    page.keyboard.press("Enter")
    expect(page.get_by_label("Wattle Bay Holiday Flats")).to_be_checked()
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_contain_text("Order 0001")
    assert Order.objects.get().customer.name == "Wattle Bay Holiday Flats"


def test_what_was_typed_stays_when_the_customer_turns_out_to_be_new(page, sign_in, sales):
    sign_in(page, sales)
    page.goto("/orders/new/")
    page.locator("#id_reference").fill("PO 22")
    page.locator("#customer_text").fill("zebra")
    expect(page.locator("#customer-choices")).to_contain_text("No customer matches")
    page.get_by_label("A new customer").check()
    page.locator("#id_new-name").fill("Zebra Lodge")
    page.locator("#id_new-name").press("Enter")
    expect(page.locator("h1")).to_contain_text("Order 0001")
    assert Order.objects.get().reference == "PO 22"
    assert Customer.objects.get().name == "Zebra Lodge"


def test_a_released_order_shows_by_itself_what_happened_at_a_station(page, sign_in, sales):
    blind = factories.released(by=sales, lines=[{"quantity": 2}])[0]
    sign_in(page, sales)
    page.goto(f"/orders/{blind.order.number}/")
    row = page.locator(f"#blind-{blind.code}")
    expect(row.locator(".state").first).to_have_text("Waiting")
    link = row.get_by_role("link", name=blind.number)
    link.focus()
    factories.tell(blind, "railing", "start", by=factories.person("maker", name="max"))
    expect(row.locator(".state").first).to_have_text("In hand")
    expect(row).to_have_class("changed")
    expect(link).to_be_focused()


OFFICE_PAGES = (
    "/sign-in/",
    "/orders/",
    "/orders/?q=zebra",
    "/orders/new/",
    "/orders/1/",
    "/orders/1/lines/1/",
    "/orders/1/release/",
    "/orders/1/cancel/",
    "/orders/2/",
    "/customers/",
    "/customers/new/",
    "/catalogue/",
    "/people/",
)


@pytest.mark.parametrize("page", ["desktop", "phone"], indirect=True)
def test_the_office_pages_are_fit_for_everybody_and_fit_the_screen(page, sign_in, sales):
    instructed = {"special_instruction": "Odd bracket at the boiler side", "room": "R" * 60}
    factories.order(by=sales, lines=[instructed, {"operation": "wand", "draw": "one_way"}])
    blind = factories.released(by=sales, lines=[{"quantity": 2}, instructed])[0]
    person = factories.person("sales", "manager", "administrator", name="gus")
    page.goto("/sign-in/")
    problems = {"/sign-in/": faults(page)}
    sign_in(page, person)
    own = f"/blinds/{blind.code}/", f"/customers/{blind.order.customer_id}/", f"/people/{person.pk}/"
    for address in (*OFFICE_PAGES[1:], *own):
        assert page.goto(address).ok, address
        problems[address] = faults(page)
    assert {address: found for address, found in problems.items() if found} == {}


def faults(page):
    """What an accessibility checker finds on the page, and how far it reaches beyond the screen."""
    found = barriers_in_light(page)
    beyond = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    return [*found, *([f"{beyond} px beyond the screen"] if beyond > 0 else [])]


def test_what_a_length_is_read_as_stands_beside_its_field_as_it_is_typed(line_form):
    page = line_form
    page.locator("#id_width_mm").press_sequentially("47 1/4 in")
    expect(page.locator("#id_width_mm_reading")).to_have_text("47 1/4 in = 1200.2 mm, rounded from 1200.15")
    expect(page.locator("#figures .readings")).to_contain_text("Width: 47 1/4 in = 1200.2 mm")
    assert focused(page) == "width_mm"
    page.locator("#id_width_mm").fill("1,200")
    expect(page.locator("#figures")).to_contain_text("“1,200” could be 1200 mm or 1.2 mm")
    expect(page.locator("#id_width_mm_reading")).to_be_empty()
    page.locator("#id_width_mm").fill("1200")
    expect(page.locator("#figures .warning")).to_have_count(0)
    expect(page.locator("#figures .readings")).to_have_count(0)


def test_what_is_typed_before_the_page_listens_is_read_too(line_form):
    page = line_form
    held = []
    page.route("**/htmx*.js*", lambda route: held.append(route))
    page.goto(page.url, wait_until="commit")
    page.locator("#id_width_mm").fill("1.83 m")
    page.wait_for_timeout(300)
    assert held
    expect(page.locator("#id_width_mm_reading")).to_be_empty()
    for script in held:
        script.continue_()
    expect(page.locator("#id_width_mm_reading")).to_have_text("1.83 m = 1830 mm")


def test_a_page_as_it_was_served_is_not_worked_out_again(line_form):
    page = line_form
    asked = []
    page.on("request", lambda request: asked.append(request.url) if request.method == "POST" else None)
    page.reload()
    page.wait_for_timeout(600)
    assert asked == []


def test_a_length_that_was_refused_stays_as_typed_with_what_the_others_are_read_as(line_form):
    page = line_form
    page.watch.allow("422")
    page.locator("#id_width_mm").fill("6 ft 14 in")
    page.locator("#id_drop_mm").fill("1.6 m")
    page.get_by_role("button", name="Save the line", exact=True).click()
    expect(page.locator("#problems")).to_contain_text("type the inches alone: 86 in")
    expect(page.locator("#id_width_mm")).to_have_value("6 ft 14 in")
    expect(page.locator("#id_drop_mm_reading")).to_have_text("1.6 m = 1600 mm")
