"""The day sheet's page: for whom it is, where it leads, and when it is sent anew."""

import datetime as dt
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from orders import intake
from production import route
from production.route import CHECKING, PACKING, RAILING, STRINGING
from tests.factories import DUE, customer, make, order, person, released, tell, work
from tests.production.test_day import ON, at
from tests.tablets import HTMX

pytestmark = pytest.mark.django_db


@pytest.fixture
def manager_page(client):
    """A browser that the manager is signed in on."""
    client.force_login(person("manager"))
    return client


@pytest.fixture
def now(monkeypatch):
    """Sets the workshop's clock, the one thing that a page reads and a test can't wait for."""

    def set_to(moment):
        monkeypatch.setattr(timezone, "now", lambda: moment)

    set_to(at(12))
    return set_to


def text_of(answer):
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


@pytest.mark.parametrize(
    ("role", "status"), [("manager", 200), ("sales", 200), ("checker", 200), ("administrator", 200), ("maker", 403)]
)
def test_the_day_sheet_is_for_who_runs_the_day(client, role, status):
    client.force_login(person(role))
    assert client.get(reverse("day")).status_code == status


def test_a_day_to_come_and_a_day_that_is_none_are_answered_with_words(manager_page, now):
    for asked, words in {
        "2026-03-05": "5 Mar 2026 is still to come. There are day sheets up to today, 4 Mar 2026.",
        "2026-02-30": "“2026-02-30” is no day. Write it as year-month-day, such as 2026-03-04",
        "<b>yesterday": "“&lt;b&gt;yesterday” is no day.",
        "0001-01-01": "There are no day sheets before 1 Jan 2000.",
    }.items():
        answer = manager_page.get(reverse("day"), {"on": asked})
        assert answer.status_code == 400
        assert words in text_of(answer)


def test_the_sheet_leads_to_the_day_before_and_after_and_not_past_today(manager_page, now):
    today = manager_page.get(reverse("day")).content.decode()
    assert 'rel="prev" href="/day/?on=2026-03-03"' in today
    assert 'rel="next"' not in today
    before = manager_page.get(reverse("day"), {"on": "2026-03-02"}).content.decode()
    assert 'rel="prev" href="/day/?on=2026-03-01"' in before
    assert 'rel="next" href="/day/?on=2026-03-03"' in before
    yesterday = manager_page.get(reverse("day"), {"on": "2026-03-03"}).content.decode()
    assert 'rel="next" href="/day/"' in yesterday


def test_the_oldest_sheet_leads_no_further_back(manager_page, now):
    assert 'rel="prev"' not in manager_page.get(reverse("day"), {"on": "2000-01-01"}).content.decode()


def test_only_todays_sheet_keeps_itself_up_to_date(manager_page, now):
    assert 'hx-trigger="every 10s, look-again"' in manager_page.get(reverse("day")).content.decode()
    assert "hx-trigger" not in manager_page.get(reverse("day"), {"on": "2026-03-03"}).content.decode()


def seen_on(answer):
    return re.search(r"seen=([0-9a-f]+)", answer.content.decode())[1]


def test_an_unchanged_sheet_is_not_sent_again_and_a_changed_one_is_the_page_itself(manager_page, now, maker):
    (blind,) = released(at=at(7))
    seen = seen_on(manager_page.get(reverse("day")))
    now(at(12, 7))
    assert manager_page.get(reverse("day"), {"seen": seen}, **HTMX).status_code == 204
    work(blind, RAILING, by=maker, at=at(12, 8))
    answer = manager_page.get(reverse("day"), {"seen": seen}, **HTMX)
    assert answer.status_code == 200
    assert seen_on(answer) != seen
    page = manager_page.get(reverse("day")).content.decode()
    assert answer.content.decode().strip() in page


def test_the_sheet_changes_when_a_promise_does(manager_page, now):
    changing = order(lines=[{}], due_on=DUE)
    intake.confirm(order=changing, by=changing.entered_by, at=at(8))
    seen = seen_on(manager_page.get(reverse("day")))
    intake.change_order(order=changing, due_on=ON - dt.timedelta(days=1))
    answer = manager_page.get(reverse("day"), {"seen": seen}, **HTMX)
    assert answer.status_code == 200
    assert 'data-figure="late">1<' in answer.content.decode()


def test_every_chart_stands_as_a_table_too(manager_page, now, maker):
    (blind,) = released(at=at(7))
    work(blind, RAILING, by=maker, at=at(9))
    page = manager_page.get(reverse("day")).content.decode()
    hours = page[page.index('id="hours-table"') : page.index("</details>", page.index('id="hours-table"'))]
    railing = re.findall(r"<td[^>]*>(.*?)</td>", hours[hours.index("Railing") : hours.index("Vanes")])
    assert railing[:4] == ["0", "0", "1", "0"]
    assert railing[-1] == "<b>1</b>"
    assert page.count('<svg class="chart"') == len(route.STATIONS) + 1
    assert 'id="days-table"' in page


def test_an_empty_workshop_has_a_sheet(manager_page, now):
    text = text_of(manager_page.get(reverse("day")))
    assert "Nothing is late, and all that is due today is packed." in text
    assert "Faults today None." in text


def test_a_customers_name_is_text_on_the_page(manager_page, now):
    made = order(customer=customer("<i>Ltd"), lines=[{}], due_on=ON)
    intake.confirm(order=made, by=made.entered_by, at=at(8))
    assert "&lt;i&gt;Ltd" in manager_page.get(reverse("day")).content.decode()


@pytest.mark.parametrize("on", ["2026-03-04", "2026-03-03"])
def test_the_questions_to_the_database_do_not_grow_with_the_work(manager_page, now, maker, checker, on):
    def asked():
        with CaptureQueriesContext(connection) as queries:
            assert manager_page.get(reverse("day"), {"on": on}).status_code == 200
        return len(queries)

    def a_busy_order(blinds):
        made = released(lines=[{"quantity": blinds}], due_on=ON, at=at(6, day=ON - dt.timedelta(days=1)))
        for day in (ON - dt.timedelta(days=1), ON):
            blind = made.pop()
            make(blind, maker=maker, checker=checker, until=STRINGING, at=at(8, day=day))
            tell(blind, CHECKING, route.START, by=checker, at=at(9, day=day))
            tell(blind, CHECKING, route.SEND_BACK, by=checker, at=at(9, day=day), back_to=RAILING, fault="stiff")
            make(made.pop(), maker=maker, checker=checker, until=PACKING, at=at(8, day=day))
        tell(made.pop(), RAILING, route.START, by=maker, at=at(10))

    asked()  # once an hour it is put on record who saw the sheet
    a_busy_order(5)
    few = asked()
    for _ in range(3):
        a_busy_order(8)
    assert asked() == few
