"""What publishing a draft would change: open lines figure by figure, refusals first; for released blinds nothing."""

import time

import pytest
from django.urls import reverse

from calc.book import with_values
from calc.components import components
from orders import catalogue, intake
from orders.models import HardwareSystem, OrderLine
from orders.spec import spec_of
from production.difference import report
from tests import factories
from tests.orders.pages import queries_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def manager(client):
    found = factories.person("manager", name="rhea")
    client.force_login(found)
    factories.system()
    return found


def draft(by, **values):
    found = catalogue.new_draft(system=HardwareSystem.objects.get(), by=by, at=factories.AT)
    changed = {key.replace("__", "."): value for key, value in values.items()}
    constants = with_values(found.as_system(), changed)
    return catalogue.change_draft(revision=found, seen=found.as_system(), constants=constants)


def figures(line):
    return {each["label"]: (each["old"], each["new"], each["unit"]) for each in line["figures"]}


def test_a_thicker_end_cover_shortens_rail_rod_and_cord_and_nothing_else(manager):
    factories.order(by=manager, lines=[{}])
    found = report(revision=draft(manager, end_cover_mm=4))
    (line,) = found["orders"][0]["lines"]
    # 1830 recess is 1820; less two covers of 3 it is 1814, of 4 it is 1812. Rod 9 less; cord 2 x (rail + 998).
    assert figures(line) == {
        "Rail, cut": (1814, 1812, "mm"),
        "Tilt rod, cut": (1805, 1803, "mm"),
        "Cord, cut": (5624, 5620, "mm"),
        "Mass on the rail": pytest.approx(figures(line)["Mass on the rail"]),
    }
    assert figures(line)["Mass on the rail"][0] > figures(line)["Mass on the rail"][1]
    assert (found["lines"], found["changed"], found["refused"]) == (1, 1, 0)
    assert found["tally"][:2] == [("Rail, cut", 1), ("Tilt rod, cut", 1)]


def test_a_draft_like_the_revision_in_force_changes_nothing(manager, client):
    factories.order(by=manager, lines=[{}, {"draw": "one_way"}])
    found = report(revision=draft(manager))
    assert (found["lines"], found["changed"], found["orders"]) == (2, 0, [])
    assert "None of 2 open lines" in client.get(reverse("difference", args=["demo-38", 2])).content.decode()


def test_a_line_that_would_be_refused_comes_first_with_the_reason(manager):
    factories.order(by=manager, lines=[{}])
    factories.order(by=manager, lines=[{}, {"width_mm": 3000}])
    found = report(revision=draft(manager, max_width_mm=2500, end_cover_mm=4))
    assert [each["order"].number for each in found["orders"]] == [2, 1]
    first = found["orders"][0]["lines"][0]
    assert first["line"].position == 2
    assert "2990" in first["appearing"][0]
    assert first["figures"] == []
    assert found["refused"] == 1


def test_a_refusal_that_goes_is_said_too(manager):
    order = factories.order(by=manager, lines=[{}])
    # The line was right when it was entered; the width that it has now is more than the revision in force allows.
    OrderLine.objects.filter(order=order).update(width_mm=6000)
    (line,) = report(revision=draft(manager, max_width_mm=6500))["orders"][0]["lines"]
    assert line["appearing"] == []
    assert "5990" in line["gone"][0]


def test_a_blind_over_the_draft_s_rating_is_refused_with_figures_as_they_were(manager):
    factories.order(by=manager, lines=[{}])
    (line,) = report(revision=draft(manager, rail_rating_kg=1))["orders"][0]["lines"]
    assert "the rail may carry 1 kg" in line["appearing"][0]
    assert line["figures"] == []


def test_released_blinds_are_counted_and_not_reported(manager, client):
    factories.released(by=manager, lines=[{"quantity": 3}])
    found = report(revision=draft(manager, end_cover_mm=4))
    assert (found["lines"], found["orders"]) == (0, [])
    assert list(found["released"]) == [{"revision__number": 1, "blinds": 3}]
    page = client.get(reverse("difference", args=["demo-38", 2])).content.decode()
    assert "Nothing changes for blinds that are released: 3 keep revision 1." in page


def test_cancelled_orders_and_lines_of_other_systems_are_left_out(manager):
    cancelled = factories.order(by=manager, lines=[{}])
    intake.cancel(order=cancelled, by=cancelled.entered_by, at=factories.AT)
    confirmed = factories.order(by=manager, lines=[{}])
    intake.confirm(order=confirmed, by=confirmed.entered_by, at=factories.AT)
    found = report(revision=draft(manager, end_cover_mm=4))
    assert [each["order"] for each in found["orders"]] == [confirmed]


def test_without_a_revision_in_force_every_line_could_be_worked_out_then(manager, client):
    factories.order(by=manager, lines=[{}])
    catalogue.retire(system=HardwareSystem.objects.get(), by=manager, at=factories.AT)
    revision = draft(manager)
    (line,) = report(revision=revision)["orders"][0]["lines"]
    assert line["is_new"]
    page = client.get(reverse("difference", args=["demo-38", 2])).content.decode()
    assert "Can be worked out and released." in page


def test_the_report_agrees_with_what_the_line_comes_to_once_published(manager):
    order = factories.order(by=manager, lines=[{}, {"draw": "one_way", "vane_width_mm": 127}])
    revision = draft(manager, vane_89__link_pitch_mm=70, control_inset_mm=30, ball_pitch_mm=5)
    told = {each["line"].position: each["figures"] for each in report(revision=revision)["orders"][0]["lines"]}
    catalogue.publish(revision=revision, by=manager, at=factories.AT)
    for line in order.lines.in_order():
        after = components(spec_of(line, market=order.market), systems={"demo-38": revision.as_system()})
        rail = {each["label"]: each["new"] for each in told[line.position]}
        assert rail["Gap check"] == after["gap_check_mm"]
        assert rail["Chain, balls"] == after["chain_balls"]


def test_the_page_shows_what_the_publishing_page_includes_and_sends_a_settled_revision_to_its_own(manager, client):
    factories.order(by=manager, lines=[{}])
    draft(manager, end_cover_mm=4)
    page = client.get(reverse("difference", args=["demo-38", 2])).content.decode()
    partial = page[page.index('<div class="difference">') : page.index("</main>")].strip()
    assert partial in client.get(reverse("revision-publish", args=["demo-38", 2])).content.decode()
    assert client.get(reverse("difference", args=["demo-38", 1])).url == reverse("revision", args=["demo-38", 1])


def test_five_hundred_lines_take_as_few_queries_as_one_and_well_under_two_seconds(manager, client):
    draft(manager, end_cover_mm=4)
    address = reverse("difference", args=["demo-38", 2])
    factories.order(by=manager, lines=[{}])
    few = queries_of(client, address)
    for _ in range(25):
        order = factories.order(by=manager, customer=factories.customer())
        OrderLine.objects.bulk_create(
            factories.line(order=order, position=position, width_mm=1000 + 7 * position) for position in range(1, 21)
        )
    started = time.process_time()
    assert queries_of(client, address) == few
    took_s = time.process_time() - started
    assert report(revision=HardwareSystem.objects.get().revisions.get(number=2))["changed"] == 501
    # The processor's time, so that a busy machine fails nobody.
    assert took_s < 2
