"""A customer's file taken in with browser and keyboard: what is wrong, how it is read, and the order that it makes."""

import re

import pytest
from playwright.sync_api import expect

from orders.models import Order
from tests import factories
from tests.orders.looked_at import catalogue
from tests.orders.made_files import BAY, HEADS, STUDY, row, separated

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_a_file_with_a_total_and_a_strange_head_is_read_as_chosen_and_taken_in(page, sign_in):
    catalogue()
    sign_in(page, factories.person("sales"))
    content = separated([row(HEADS, Width="X1"), BAY, STUDY, row([""] * 13, Room="Total", Qty="3")])
    page.goto(f"/customers/{factories.customer().pk}/")
    page.get_by_role("link", name="Orders from a file").click()
    page.set_input_files("#id_file", {"name": "march.csv", "mimeType": "text/csv", "buffer": content})
    page.get_by_role("button", name="Look at the file").click()
    expect(page.locator("#found-title")).to_contain_text("to put right before anything is taken in")

    unit = page.get_by_label("Unit of column E")
    expect(unit).not_to_be_visible()
    page.get_by_label("Column E is taken as").select_option("Width")
    expect(unit).to_be_visible()
    page.get_by_label("Rows to leave out").fill("4")
    page.keyboard.press("Enter")
    expect(page.locator("#found-title")).to_have_count(0)
    expect(page.locator("#row-2")).to_contain_text("1820 × 1588")

    page.get_by_role("button", name="Take in as a draft order").click()
    expect(page).to_have_url(re.compile(r"/orders/\d+/$"))
    assert Order.objects.get().lines.count() == 2


@pytest.mark.parametrize("page", ["phone"], indirect=True)
def test_on_a_phone_nothing_of_a_file_stands_beside_the_screen(page, sign_in):
    catalogue()
    sign_in(page, factories.person("sales"))
    page.goto(f"/customers/{factories.customer().pk}/files/")
    page.set_input_files("#id_file", {"name": "march.csv", "mimeType": "text/csv", "buffer": separated()})
    page.get_by_role("button", name="Look at the file").click()
    expect(page.locator("#row-2")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") == 390
