"""The pages on which sales ask for a change and the manager decides, and what stations show of it meanwhile."""

import re
import uuid

import pytest
from django.urls import reverse

from orders.models import Order, OrderLine
from production import amend, route
from production.models import Amendment, StationEvent
from production.route import CHECKING, PACKING, RAILING, STRINGING
from tests import factories
from tests.factories import AT, make, person, tell, work
from tests.orders.pages import page_of, queries_of
from tests.production.amending import accept, ask, ask_off, change, fresh, plan, state_of, typed
from tests.tablets import maker_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def nora(client):
    found = person("sales", name="nora", first_name="Nora", last_name="Quist")
    client.force_login(found)
    return found


@pytest.fixture
def ruben(client, nora):
    found = person("manager", name="ruben", first_name="Ruben", last_name="Falk")
    client.force_login(found)
    return found


def asked_line(client, blind, **given):
    address = reverse("change-line", args=[blind.order.number, 1])
    return client.post(address, typed(OrderLine.objects.get(position=1), blinds=[blind.code], **given), follow=True)


def decide(client, name, asked, **given):
    return client.post(reverse(f"change-{name}", args=[asked.order.number, asked.pk]), given, follow=True)


def test_the_page_of_a_released_order_leads_to_asking_for_a_change(client, nora):
    (blind,) = factories.released(by=nora)
    page = page_of(client, "order", blind.order.number)
    assert reverse("order-changes", args=[blind.order.number]) in page
    ways = page_of(client, "order-changes", blind.order.number)
    for name, more in (("change-line", [1]), ("change-add", []), ("change-take-off", []), ("change-head", [])):
        assert reverse(name, args=[blind.order.number, *more]) in ways


def test_the_cursor_stands_where_the_reason_is_typed(client, nora):
    (blind,) = factories.released(by=nora)
    for name, more in (("change-line", [1]), ("change-add", []), ("change-head", []), ("change-take-off", [])):
        page = page_of(client, name, blind.order.number, *more)
        (focused,) = re.findall(r"<\w+[^>]*autofocus[^>]*>", page)
        assert 'name="because"' in focused


def test_sales_ask_for_another_width_through_the_form_of_the_line(client, nora):
    (blind,) = factories.released(by=nora)
    page = asked_line(client, blind, width_mm="1.7 m").content.decode()
    assert "The workshop sees it now, and the manager decides" in page
    asked = Amendment.objects.get()
    assert (asked.asked["width_mm"], asked.asked_by, asked.because) == ("1700.0", nora, "The customer rang")
    assert "1830 × 1600 recess" in page
    assert "1700 × 1600 recess" in page
    assert "Accept it" not in page


def test_what_is_typed_comes_back_with_the_reason_why_not(client, nora):
    (blind,) = factories.released(by=nora)
    answer = asked_line(client, blind, width_mm="150", room="Study")
    assert answer.status_code == 422
    page = answer.content.decode()
    assert 'value="Study"' in page
    assert "The customer rang" in page
    assert not Amendment.objects.exists()
    assert "Say why: what the customer wants" in asked_line(client, blind, because="").content.decode()


def test_a_change_that_changes_nothing_is_not_asked_for(client, nora):
    (blind,) = factories.released(by=nora)
    answer = asked_line(client, blind)
    assert answer.status_code == 422
    assert "Nothing would change" in answer.content.decode()


def test_the_manager_sees_before_and_after_and_what_is_made_already(client, ruben, maker):
    (blind,) = factories.released()
    work(blind, RAILING, by=maker)
    ask(blind, width_mm=1700)
    page = page_of(client, "order-changes", blind.order.number)
    for said in ("Rail, cut", "1814", "1684", "1 × rail, 1 × tilt rod", "Railing done, Mara L", "railing"):
        assert said in page, said
    assert "Accept it" in page
    assert "1684" in page_of(client, "changes")


def test_the_manager_accepts_what_was_looked_at(client, ruben):
    (blind,) = factories.released()
    asked = ask(blind, width_mm=1700)
    page = decide(client, "accept", asked, seen=plan(asked).mark).content.decode()
    assert "The change is accepted" in page
    assert fresh(blind).components["rail_cut_mm"] == 1684
    assert state_of(asked) == Amendment.ACCEPTED
    assert "Accepted</b> by Ruben F" in page


def test_the_manager_refuses_with_a_reason_that_sales_read(client, ruben):
    (blind,) = factories.released()
    asked = ask(blind, width_mm=1700)
    assert "Say why it can&#x27;t be done" in decide(client, "refuse", asked, reason="").content.decode()
    page = decide(client, "refuse", asked, reason="It is cut & strung").content.decode()
    assert "It is cut &amp; strung" in page
    assert state_of(asked) == Amendment.REFUSED


def test_a_decision_by_an_old_page_is_asked_again_and_keeps_what_was_typed(client, ruben, maker):
    (blind,) = factories.released()
    asked = ask(blind, width_mm=1700)
    seen = plan(asked).mark
    work(blind, RAILING, by=maker)
    answer = decide(client, "accept", asked, seen=seen)
    assert answer.status_code == 409
    assert "it comes to something else than was shown" in answer.content.decode()
    assert state_of(asked) == Amendment.ASKED


def test_sales_take_back_what_they_asked_for(client, nora):
    (blind,) = factories.released(by=nora)
    asked = ask(blind, by=nora, width_mm=1700)
    assert "is taken back" in decide(client, "withdraw", asked).content.decode()
    assert state_of(asked) == Amendment.WITHDRAWN


def test_another_line_and_blinds_off_and_another_day_are_asked_for_on_their_pages(client, nora):
    (blind,) = factories.released(by=nora)
    number = blind.order.number
    line = typed(OrderLine.objects.get(), quantity=2, room="Hall")
    assert client.post(reverse("change-add", args=[number]), line).status_code == 302
    off = {"because": "One too many", "blinds": [blind.code]}
    assert client.post(reverse("change-take-off", args=[number]), off).status_code == 302
    day = {"because": "Away", "due_on": "2999-03-04", "note": "Ring first"}
    assert client.post(reverse("change-head", args=[number]), day).status_code == 302
    assert {each.kind for each in Amendment.objects.all()} == {"add", "take_off", "head"}
    page = page_of(client, "order-changes", number)
    for said in ("Hall", "One too many", "Mon 4 Mar 2999", "Ring first"):
        assert said in page
    for each in Amendment.objects.order_by("pk"):
        accept(each)
    page = page_of(client, "order-changes", number)
    assert page.count("Accepted</b>") == 3
    assert Order.objects.get().note == "Ring first"


def test_both_versions_stand_on_the_blinds_page_and_on_the_orders(client, nora):
    (blind,) = factories.released(by=nora)
    change(blind, width_mm=1700, because="Measured again")
    page = page_of(client, "blind", blind.code)
    for said in ("Measured again", "1830 × 1600 recess", "1700 × 1600 recess", "1814", "1684", "Changed, and frozen"):
        assert said in page, said
    order = page_of(client, "order", blind.order.number)
    assert "size 1830 × 1600 recess → <b>1700 × 1600 recess</b>" in order


def test_the_history_tells_a_step_by_the_figures_that_it_was_entered_for(client, nora, maker):
    (blind,) = factories.released(by=nora, lines=[{"draw": "one_way"}])
    tell(blind, RAILING, route.START, by=maker)
    tell(blind, RAILING, route.STEP, by=maker, key="end_sets", value=True)
    change(blind, hand="right")
    page = page_of(client, "blind", blind.code)
    assert "End sets fitted, controls at the left." in page
    assert "End sets fitted, controls at the right." not in page


def test_a_blind_taken_off_is_said_so_wherever_it_is_looked_up(client, nora, tablet):
    one, _two = factories.released(by=nora, lines=[{"quantity": 2}])
    accept(ask_off(one))
    sheet = page_of(tablet, "station-blind", RAILING, one.code)
    assert "was taken off its order" in sheet
    assert "Start railing" not in sheet
    tablet.force_login(nora)
    assert "Taken off" in page_of(client, "order", one.order.number)
    assert "1 blind" in page_of(client, "order-parts", one.order.number)


def test_the_queue_and_the_sheet_say_wait_while_a_change_is_asked_for(tablet):
    one, two = factories.released(lines=[{"quantity": 2}])
    before = page_of(tablet, "station", RAILING)
    assert "A change is asked for" not in before
    asked = ask(one, width_mm=1700, because="Wider please")
    queue = page_of(tablet, "station", RAILING)
    assert queue.count("A change is asked for: wait before cutting.") == 1
    sheet = page_of(tablet, "station-blind", RAILING, one.code)
    assert "A change is asked for: wait before cutting." in sheet
    assert "Wider please" in sheet
    assert "A change is asked for" not in page_of(tablet, "station-blind", RAILING, two.code)
    amend.refuse(amendment=asked, reason="Cut", by=person("manager"), at=AT)
    assert "A change is asked for" not in page_of(tablet, "station", RAILING)


def test_a_changed_blinds_sheet_says_what_changed_until_the_station_is_finished(tablet, maker):
    (blind,) = factories.released()
    change(blind, width_mm=1700)
    sheet = page_of(tablet, "station-blind", RAILING, blind.code)
    assert "Every figure here is the new one" in sheet
    assert "1830 × 1600 recess" in sheet
    assert reverse("ticket", args=[blind.code]) in sheet
    work(fresh(blind), RAILING, by=maker)
    assert "Every figure here" not in page_of(tablet, "station-blind", RAILING, blind.code)
    assert "Every figure here" in page_of(tablet, "station-blind", STRINGING, blind.code)


def test_what_is_cut_by_the_old_figures_goes_back_and_the_queue_says_why(tablet, maker):
    (blind,) = factories.released()
    tell(blind, RAILING, route.START, by=maker)
    change(blind, width_mm=1700)
    assert "changed: new figures, new papers" in page_of(tablet, "station", RAILING)


def test_a_changed_blinds_sheet_says_what_the_change_scrapped_and_no_fault_from_before_it(tablet, maker, checker):
    (blind,) = factories.released()
    make(blind, maker=maker, checker=checker, until=STRINGING)
    tell(blind, CHECKING, route.START, by=checker)
    tell(blind, CHECKING, route.SEND_BACK, by=checker, back_to=RAILING, fault="stiff")
    make_again = page_of(tablet, "station-blind", RAILING, blind.code)
    assert "Sent back from checking" in make_again
    work(fresh(blind), RAILING, by=maker)
    change(blind, width_mm=1700)
    sheet = page_of(tablet, "station-blind", RAILING, blind.code)
    assert "Scrapped: 1 × rail, 1 × tilt rod" in sheet
    assert "Sent back from checking" not in sheet
    assert "To do again" in sheet


def sent(blind, station, kind, *, maker_token, issue, **fields):
    return {
        "event_id": uuid.uuid4(),
        "code": blind.code,
        "station": station,
        "kind": kind,
        "maker": maker_token,
        "issue": issue,
        **fields,
    }


def test_the_form_of_an_old_sheet_is_refused_and_shows_the_new_figures(tablet, maker):
    (blind,) = factories.released()
    tell(blind, RAILING, route.START, by=maker)
    change(blind, fixing="face", hand="right")
    address = reverse("station-record", args=[RAILING, blind.code])
    form = sent(blind, RAILING, "start", maker_token=maker_of(tablet), issue=1)
    answer = tablet.post(address, form, HTTP_HX_REQUEST="true")
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "what you entered is for the figures of before" in page
    assert 'name="issue" value="2"' in page
    assert tablet.post(address, {**form, "event_id": uuid.uuid4(), "issue": 2}).status_code == 302


def test_what_waited_on_a_tablet_for_the_old_figures_is_refused_with_the_reason(tablet, maker):
    """It was cut while there was no network: a person must see it, so it is refused and not thrown away."""
    (blind,) = factories.released()
    token = maker_of(tablet)
    change(blind, width_mm=1700)
    for kind, more in (("start", {}), ("step", {"key": "tubes", "confirmed": "yes"}), ("finish", {})):
        answer = tablet.post(
            reverse("outbox"), {**sent(blind, RAILING, kind, maker_token=token, issue=1), "waited_ms": 90_000, **more}
        )
        assert (answer.status_code, answer.json()["result"]) == (422, "refused")
        assert "was changed by" in answer.json()["reasons"][0]
    assert not StationEvent.objects.of_blind(blind).filter(station=RAILING).exists()


def test_a_page_from_before_there_were_issues_counts_as_the_first(tablet, maker):
    (blind,) = factories.released()
    form = sent(blind, RAILING, "start", maker_token=maker_of(tablet), issue="")
    assert tablet.post(reverse("outbox"), {**form, "waited_ms": 5}).json()["result"] == "recorded"


def test_the_list_of_changes_takes_as_many_queries_however_long_it_is(client, ruben):
    for _ in range(2):
        ask(factories.released()[0], width_mm=1700)
    few = queries_of(client, reverse("changes"))
    for _ in range(4):
        ask(*factories.released(lines=[{"quantity": 3}]), width_mm=1600)
    assert queries_of(client, reverse("changes")) == few


def test_a_decided_list_takes_as_many_queries_however_long_it_is(client, ruben):
    (blind,) = factories.released()
    address = reverse("order-changes", args=[blind.order.number])
    change(blind, width_mm=1700)
    few = queries_of(client, address)
    for width_mm in (1600, 1650, 1550):
        change(blind, width_mm=width_mm)
    assert queries_of(client, address) == few


def test_an_order_that_is_packed_is_changed_no_more(client, nora, maker, checker):
    (blind,) = factories.released(by=nora)
    factories.make(blind, maker=maker, checker=checker, until=PACKING)
    page = page_of(client, "order-changes", blind.order.number)
    assert "is ready. Enter a new order for a change." in page
    answer = client.get(reverse("change-line", args=[blind.order.number, 1]), follow=True)
    assert "can be changed any more. Enter a new order" in answer.content.decode()
