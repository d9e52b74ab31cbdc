"""Where the blinds of a released order are, as its page shows it by itself."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from production import amend
from production.models import Blind
from production.views.order_at_work import head_mark
from tests import factories
from tests.orders.pages import page_of
from tests.production.amending import accept

pytestmark = pytest.mark.django_db


def at_work(client, order, **query):
    return client.get(reverse("order-at-work", args=[order.number]), query, headers={"hx-request": "true"})


def test_a_released_order_shows_each_blind_at_each_station(client, sales):
    blinds = factories.released(by=sales, lines=[{"quantity": 2}])
    factories.work(blinds[0], "railing", by=factories.person("maker", name="max"))
    page = page_of(client, "order", blinds[0].order.number)
    assert "0001-1" in page
    assert "0001-2" in page
    assert '<span class="state state-done">Done</span> <span class="soft small">max' in page


def test_the_part_that_changes_is_the_same_on_the_page_and_by_itself(client, sales):
    order = factories.released(by=sales)[0].order
    page = client.get(reverse("order", args=[order.number])).content.decode()
    part = at_work(client, order, seen=f"{head_mark(order)}-0").content.decode()
    assert part.strip() in page
    assert part.strip() in page_of(client, "order-at-work", order.number)


def test_nothing_is_sent_again_until_something_happens(client, sales):
    blind = factories.released(by=sales)[0]
    seen = client.get(reverse("order", args=[blind.order.number])).content.decode().split("?seen=")[1].split('"')[0]
    assert at_work(client, blind.order, seen=seen).status_code == 204
    factories.tell(blind, "railing", "start", by=factories.person("maker"))
    assert at_work(client, blind.order, seen=seen).status_code == 200


def test_asking_whether_something_happened_takes_three_light_queries(client, sales):
    order = factories.released(by=sales, lines=[{"quantity": 20}])[0].order
    with CaptureQueriesContext(connection) as queries:
        assert at_work(client, order, seen=f"{head_mark(order)}-20!0").status_code == 204
    # The person by the session, then the order, how many events its blinds have, and how many changes are asked for.
    assert len(queries) == 4


def test_the_whole_page_is_loaded_again_once_the_order_is_ready(client, sales):
    blind = factories.released(by=sales)[0]
    factories.make(blind, maker=factories.person("maker"), checker=factories.person("checker"))
    answer = at_work(client, blind.order, seen=f"{head_mark(blind.order)}-1")
    assert answer.headers["HX-Refresh"] == "true"


def test_the_whole_page_is_loaded_again_once_a_change_has_moved_its_day(client, sales):
    order = factories.released(by=sales)[0].order
    page = client.get(reverse("order", args=[order.number])).content.decode()
    seen = page.split("?seen=")[1].split('"')[0]
    day = order.due_on + dt.timedelta(days=7)
    asked = amend.ask_head(order=order, due_on=day, note="", because="They rang", by=sales, at=factories.AT)
    assert "HX-Refresh" not in at_work(client, order, seen=seen).headers
    accept(asked)
    assert at_work(client, order, seen=seen).headers["HX-Refresh"] == "true"


def test_a_released_order_shows_its_frozen_figures_whatever_the_system_says_now(client, sales):
    blind = factories.released(by=sales)[0]
    frozen = Blind.objects.get(pk=blind.pk).components["finished_width_mm"]
    revision = blind.revision
    revision.constants = {**revision.constants, "recess_width_clearance_mm": 500}
    revision.save()
    assert f"{frozen} × 1588" in page_of(client, "order", blind.order.number)
