"""The office's search box: a key leads to it, and a scan opens its blind from any page, but never out of a field."""

import pytest
from playwright.sync_api import expect

from tests import factories

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_a_key_leads_to_the_box_and_a_scan_opens_its_blind_from_any_page(watched_page, sign_in):
    sales = factories.person("sales", name="nora")
    blind, *_ = factories.released(by=sales, lines=[{}])
    draft = factories.order(by=sales, reference="PO 9", lines=[{}])
    with watched_page("desktop") as page:
        sign_in(page, sales)
        page.goto("/customers/")
        page.keyboard.press("Control+k")
        expect(page.locator("#find")).to_be_focused()
        page.keyboard.type("po 9")
        page.keyboard.press("Enter")
        page.wait_for_url(f"**/orders/{draft.number}/")
        page.keyboard.type(f"{blind.code}\n")
        page.wait_for_url(f"**/blinds/{blind.code}/")
        page.goto(f"/orders/{draft.number}/edit/")
        page.locator("#id_note").click()
        page.keyboard.type("12345678\nkeep this")
        expect(page.locator("#id_note")).to_have_value("12345678\nkeep this")
        page.keyboard.press("Control+k")
        page.keyboard.type(f"{blind.code}\n")
        page.wait_for_url(f"**/blinds/{blind.code}/")
