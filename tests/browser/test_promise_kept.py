"""A change that would make another order late is asked about, and can be made all the same with the keyboard."""

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from orders import calendar
from production import crew, promising, route
from tests import factories
from tests.browser.barriers import barriers_in_light
from tests.orders.pages import in_days

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_a_line_more_names_whom_it_makes_late_and_is_added_all_the_same(page, sign_in):
    calendar.set_week(weekdays=list(range(7)), country="", subdivision="", days_in_hand=0)
    crew.set_crews({key: {"people": 1, "minutes": 450} for key in route.STATION})
    nora, at = factories.person("sales", name="nora"), timezone.now()
    first, second = (factories.order(by=nora, due_on=in_days(14), lines=[{"quantity": 12}]) for _ in range(2))
    for order in (first, second):
        day = promising.quote(order=order, at=at).day
        promising.promise(order=order, day=day, by=nora, at=at, confirm=True)
    page.watch.allow("409")
    sign_in(page, nora)
    page.goto(f"/orders/{first.number}/lines/1/")
    page.get_by_label("Quantity").fill("24")
    page.get_by_role("button", name="Save").first.click()
    expect(page.locator("#problems")).to_contain_text(f"{second.number:04d}")
    expect(page.locator("#problems")).to_be_focused()
    assert barriers_in_light(page) == []
    page.get_by_role("button", name="Change it all the same").press("Enter")
    expect(page.get_by_text("Line 1 is changed.")).to_be_visible()
    expect(page.get_by_label("What was promised")).to_contain_text(f"Made order {second.number:04d}")
