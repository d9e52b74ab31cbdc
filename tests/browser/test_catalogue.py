"""A manager puts the workshop's own constants in with the keyboard, sees what follows, and publishes."""

import pytest
from playwright.sync_api import expect

from calc.book import with_values
from calc.system import DEMO_38
from calc.system_file import written
from orders import catalogue
from orders.models import Fabric, HardwareSystem, SystemRevision
from tests import factories
from tests.browser.barriers import barriers_in_light

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def manager(page, sign_in):
    found = factories.person("manager", name="rhea")
    factories.system()
    sign_in(page, found)
    return found


def press(page, *keys):
    for key in keys:
        page.keyboard.press(key)


def test_constants_are_drafted_compared_and_published_with_the_keyboard(page, manager):
    factories.order(by=manager, lines=[{}])
    page.goto("/catalogue/systems/demo-38/")
    page.get_by_role("button", name="New draft").focus()
    press(page, "Enter")
    page.get_by_label("End cover", exact=True).focus()
    press(page, "Control+a")
    page.keyboard.type("4")
    press(page, "Tab")
    expect(page.get_by_label("Rod shortfall", exact=True)).to_be_focused()
    page.get_by_label("Link pitch, 89 mm vanes").fill("78")
    press(page, "Enter")
    expect(page.get_by_role("status")).to_contain_text("Revision 2 is saved as a draft.")
    page.get_by_role("link", name="Look it over to publish").focus()
    press(page, "Enter")
    row = page.locator(".figures-between tr", has_text="Rail, cut")
    expect(row).to_contain_text("1814")
    expect(row).to_contain_text("1812")
    page.get_by_role("button", name="Publish revision 2").focus()
    press(page, "Enter")
    expect(page.get_by_role("status")).to_contain_text("revision 2 is in force from now on")
    assert SystemRevision.objects.get(number=2).as_system().vane_89.link_pitch_mm == 78


def test_a_slip_of_the_pen_takes_the_focus_and_leads_to_its_field(page, manager):
    page.watch.allow("422")
    catalogue.new_draft(system=HardwareSystem.objects.get(), by=manager, at=factories.AT)
    page.goto("/catalogue/systems/demo-38/2/edit/")
    page.get_by_label("Ball pitch", exact=True).fill("600")
    page.get_by_role("button", name="Save the draft").click()
    expect(page.locator("#problems")).to_be_focused()
    page.locator("#problems").get_by_role("link", name="Ball pitch").click()
    field = page.get_by_label("Ball pitch", exact=True)
    expect(field).to_be_focused()
    expect(field).to_have_value("600")
    expect(field).to_have_accessible_description(
        "600 mm is outside the sane range, 2 to 20 mm. Check the unit and the decimals."
    )


def test_a_file_is_exported_and_read_back_into_a_draft(page, manager, tmp_path):
    page.goto("/catalogue/systems/demo-38/")
    with page.expect_download() as download:
        page.get_by_role("link", name="Export revision 1").click()
    download.value.save_as(tmp_path / "ours.toml")
    assert (tmp_path / "ours.toml").read_text(encoding="utf-8") == written(DEMO_38)
    page.goto("/catalogue/import/")
    page.get_by_label("File", exact=True).set_input_files(tmp_path / "ours.toml")
    page.get_by_role("button", name="Read it into a draft").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Revision 2")


@pytest.mark.parametrize("page", ["desktop", "tablet", "phone"], indirect=True)
def test_the_catalogues_pages_are_fit_for_everybody_and_fit_the_screen(page, manager):
    page.watch.allow("409|422")
    system = HardwareSystem.objects.get()
    factories.order(by=manager, lines=[{"room": "R" * 60}, {"width_mm": 3000}])
    factories.released(by=manager, lines=[{}])
    draft = catalogue.new_draft(system=system, by=manager, at=factories.AT)
    values = {"end_cover_mm": 4, "max_width_mm": 2500, "vane_89.link_pitch_mm": 78, "above_4000_f_mm": 2}
    catalogue.change_draft(revision=draft, seen=draft.as_system(), constants=with_values(draft.as_system(), values))
    broken = with_values(DEMO_38, {"vane_89.lead_tube_one_way_mm": 10, "min_width_mm": 120})
    catalogue.add_system(code="bay-45", name="B" * 60, constants=broken, by=manager, at=factories.AT)
    fabric = Fabric.objects.get()
    own = "/catalogue/systems/demo-38/"
    found = {}
    for address in (
        "/catalogue/",
        "/catalogue/new/",
        "/catalogue/import/",
        own,
        f"{own}1/",
        f"{own}2/",
        f"{own}2/edit/",
        f"{own}2/publish/",
        f"{own}2/difference/",
        f"{own}2/discard/",
        f"{own}1/edit/",
        f"{own}retire/",
        "/catalogue/systems/bay-45/",
        "/catalogue/systems/bay-45/1/publish/",
        "/catalogue/systems/bay-45/1/discard/",
        "/catalogue/fabrics/new/",
        f"/catalogue/fabrics/{fabric.pk}/",
        f"/catalogue/fabrics/{fabric.pk}/remove/",
    ):
        page.goto(address)
        found[address] = faults(page)
    page.goto(f"{own}2/edit/")
    page.get_by_label("End cover", exact=True).fill("three and a half")
    page.get_by_role("button", name="Save the draft").click()
    found["refused"] = faults(page)
    assert {address: wrong for address, wrong in found.items() if wrong} == {}


def faults(page):
    """What an accessibility checker finds on the page, and how far it reaches beyond the screen."""
    found = barriers_in_light(page)
    beyond = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    return [*found, *([f"{beyond} px beyond the screen"] if beyond > 0 else [])]
