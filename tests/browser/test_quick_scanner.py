"""A scanner that types code after code without a pause, the same code twice, and a slip that a finger types."""

import re
from urllib.parse import parse_qs, urlsplit

import pytest
from playwright.sync_api import expect

from production import route
from production.models import StationEvent
from tests.factories import released
from tests.tablets import main_button, sheet

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def codes_asked(page):
    """The codes that the page has asked for, as they come."""
    asked = []

    def note(request):
        url = urlsplit(request.url)
        if url.path.endswith("/scan/"):
            asked.extend(parse_qs(url.query)["code"])

    page.on("request", note)
    return asked


def scan_all(page, codes):
    for code in codes:
        page.keyboard.type(code)
        page.keyboard.press("Enter")


@pytest.mark.parametrize("start", ["queue", "sheet"])
def test_thirty_codes_without_a_pause_end_on_the_last_and_none_is_mixed_with_another(tablet, start):
    shown, *scanned = released(lines=[{"quantity": 31}])
    asked = codes_asked(tablet)
    tablet.goto(sheet(shown) if start == "sheet" else "/stations/railing/")
    scan_all(tablet, [blind.code for blind in scanned])
    expect(tablet).to_have_url(re.compile(sheet(scanned[-1])))
    assert set(asked) <= {blind.code for blind in scanned}
    assert asked[-1] == scanned[-1].code
    fields = tablet.locator("input:not([type=hidden], [type=radio], [type=checkbox]), textarea")
    tablet.wait_for_load_state()
    assert set(fields.evaluate_all("all => all.map((field) => field.value)")) <= {""}
    assert not StationEvent.objects.exclude(kind=route.RELEASE).exists()
    tablet.goto("/stations/railing/")
    expect(tablet.get_by_label("Scan or type a number")).to_have_value("")
    assert tablet.get_by_role("alert").filter(has_text=re.compile("misread|digits|badge")).count() == 0


def test_the_same_code_twice_is_one_visit_to_one_blind(tablet):
    blind, other = released(lines=[{"quantity": 2}])
    tablet.goto(sheet(other))
    asked = codes_asked(tablet)
    scan_all(tablet, [blind.code, blind.code])
    expect(tablet).to_have_url(re.compile(sheet(blind)))
    assert set(asked) == {blind.code}
    scan_all(tablet, [blind.code])
    expect(tablet).to_have_url(re.compile(sheet(blind)))
    expect(main_button(tablet)).to_contain_text("Start railing")
    assert not StationEvent.objects.exclude(kind=route.RELEASE).exists()
