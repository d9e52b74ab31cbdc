"""What a tablet records at a station, and what it is refused."""

import re
import uuid

import pytest
from django.test import Client
from django.urls import reverse

from production import bench, route
from production.models import Stage, StationEvent
from production.route import CHECKING, PACKING, RAILING, STRINGING, VANES
from tests import factories
from tests.factories import enter_steps, make, person, released, tell, work
from tests.tablets import HTMX, maker_of, queue_of, send, sheet_of, text_of

pytestmark = pytest.mark.django_db


def test_a_maker_takes_a_blind_through_railing_with_plain_forms_alone(tablet, maker):
    blind = released()[0]
    started = send(tablet, blind, RAILING, route.START, htmx=False)
    assert started.headers["Location"] == f"/stations/railing/{blind.code}/"
    for found in bench.read(blind=blind, station=RAILING).steps:
        if found.step.must:
            given = factories.right_value(found.step)
            field = {"confirmed": "yes"} if given is True else {"value": given}
            answer = send(tablet, blind, RAILING, route.STEP, htmx=False, key=found.step.key, **field)
            assert answer.headers["Location"].endswith(f"#step-{found.step.key}")
    finished = send(tablet, blind, RAILING, route.FINISH, htmx=False)
    assert finished.headers["Location"] == "/stations/railing/"
    assert f"Railing of {blind.number} is finished. It is at vanes and stringing now." in text_of(
        queue_of(tablet, RAILING)
    )


def test_a_finished_station_sends_the_tablet_back_to_its_queue(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    enter_steps(blind, RAILING, by=maker)
    assert send(tablet, blind, RAILING, route.FINISH).headers["HX-Redirect"] == "/stations/railing/"


def test_the_last_station_says_that_the_blind_is_packed(tablet, maker, checker):
    blind = released()[0]
    make(blind, maker=maker, checker=checker, until=CHECKING)
    tell(blind, PACKING, route.START, by=maker)
    enter_steps(blind, PACKING, by=maker)
    send(tablet, blind, PACKING, route.FINISH)
    assert f"Packing of {blind.number} is finished. It is packed." in text_of(queue_of(tablet, PACKING))


def test_finish_with_open_steps_lists_each_of_them_with_a_link(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    refused = send(tablet, blind, RAILING, route.FINISH)
    assert refused.status_code == 422
    open_keys = [found.step.key for found in bench.read(blind=blind, station=RAILING).steps if found.problem]
    linked = re.findall(r'<a href="#step-(\w+)">', refused.content.decode())
    assert linked == open_keys
    assert all(f'id="step-{key}"' in refused.content.decode() for key in linked)


def test_a_gap_outside_its_tolerance_keeps_railing_open(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    enter_steps(blind, RAILING, by=maker, gap=143)
    refused = send(tablet, blind, RAILING, route.FINISH)
    assert refused.status_code == 422
    assert "Measured 143 mm where the ticket says 63 mm ±5.2 mm" in text_of(refused)


@pytest.mark.parametrize("missing", ["device", "tag_1", "tag_2", "front_warning"])
def test_a_looped_blind_cannot_leave_stringing_without_each_safety_step(tablet, maker, missing):
    blind = released()[0]
    work(blind, RAILING, by=maker)
    tell(blind, STRINGING, route.START, by=maker)
    enter_steps(blind, STRINGING, by=maker, but=(missing,))
    refused = send(tablet, blind, STRINGING, route.FINISH)
    assert refused.status_code == 422
    assert re.findall(r'<a href="#step-(\w+)">', refused.content.decode()) == [missing]


def test_a_station_out_of_order_is_refused_with_what_comes_first(tablet):
    blind = released()[0]
    refused = send(tablet, blind, STRINGING, route.START)
    assert refused.status_code == 409
    assert "Finish railing first" in text_of(refused)


def test_of_two_who_start_one_has_it_and_the_other_is_told_who(tablet, other_maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=other_maker)
    refused = send(tablet, blind, RAILING, route.START)
    assert refused.status_code == 409
    assert "It is in hand already" in text_of(refused)
    assert "Tomasz Okafor" in text_of(refused)


def test_a_start_refused_on_the_queue_is_said_on_the_queue(tablet, other_maker):
    first, second = released(lines=[{"quantity": 2}])
    tell(first, RAILING, route.START, by=other_maker)
    with_script = send(tablet, first, RAILING, route.START, **{"from": "queue"})
    assert with_script.status_code == 409
    assert "<html" not in with_script.content.decode()
    without_script = send(tablet, first, RAILING, route.START, htmx=False, **{"from": "queue"})
    assert without_script.status_code == 409
    assert "It is in hand already" in text_of(without_script)
    assert f"Start railing {second.number}" in text_of(without_script)


def test_the_same_event_twice_is_written_once_and_answered_twice(tablet):
    blind, event_id = released()[0], uuid.uuid4()
    answers = [send(tablet, blind, RAILING, route.START, event_id=event_id) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [200, 200]
    assert StationEvent.objects.filter(event_id=event_id).count() == 1


def test_finish_answered_twice_is_said_once(tablet, maker):
    blind, event_id = released()[0], uuid.uuid4()
    tell(blind, RAILING, route.START, by=maker)
    enter_steps(blind, RAILING, by=maker)
    for _ in range(2):
        assert send(tablet, blind, RAILING, route.FINISH, event_id=event_id).headers["HX-Redirect"]
    assert text_of(queue_of(tablet, RAILING)).count("is finished") == 1


def test_a_station_finished_twice_by_two_events_is_refused(tablet, maker):
    blind = released()[0]
    work(blind, RAILING, by=maker)
    refused = send(tablet, blind, RAILING, route.FINISH)
    assert refused.status_code == 409
    assert "It is done there" in text_of(refused)


@pytest.mark.parametrize("event_id", ["", "42", "not-a-number"])
def test_an_event_without_a_proper_number_is_refused(tablet, event_id):
    url = reverse("station-record", args=[RAILING, released()[0].code])
    refused = tablet.post(url, {"event_id": event_id, "maker": maker_of(tablet), "kind": route.START}, **HTMX)
    assert refused.status_code == 422
    assert "Reload it and do it again" in text_of(refused)


@pytest.mark.parametrize("kind", ["release", "dance", ""])
def test_what_does_not_happen_at_a_station_is_refused(tablet, kind):
    assert send(tablet, released()[0], RAILING, kind).status_code == 422


@pytest.mark.parametrize(("key", "value"), [("gap", "wide"), ("carriers_left", "12.5"), ("gap", "")])
def test_a_refused_entry_keeps_what_was_typed(tablet, maker, key, value):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    for htmx in (True, False):
        refused = send(tablet, blind, RAILING, route.STEP, htmx=htmx, key=key, value=value)
        assert refused.status_code == 422
        assert f'name="value" value="{value}"' in refused.content.decode()
    assert not StationEvent.objects.filter(kind=route.STEP).exists()


def test_a_manager_may_look_but_is_shown_no_button_and_is_refused(client):
    client.force_login(person("manager"))
    blind = released()[0]
    page = sheet_of(client, blind, RAILING)
    assert "Only a maker works at railing. You can look." in text_of(page)
    assert "station-record" not in page.content.decode()
    assert f"{blind.code}/record/" not in page.content.decode()
    assert f"{blind.code}/record/" not in queue_of(client, RAILING).content.decode()
    assert send(client, blind, RAILING, route.START).status_code == 422
    assert Stage.objects.get(blind=blind, station=RAILING).state == route.WAITING


def test_sales_may_record_nothing(client):
    client.force_login(person("sales"))
    assert send(client, released()[0], RAILING, route.START).status_code == 403


def test_a_checker_who_made_the_blind_is_told_before_starting(client, maker):
    both = person("maker", "checker", first_name="Joy", last_name="Prasad")
    own, others = released(lines=[{"quantity": 2}])
    for blind, by in ((own, both), (others, maker)):
        for station in (RAILING, VANES, STRINGING):
            work(blind, station, by=by)
    client.force_login(both)
    page = queue_of(client, CHECKING)
    assert page.context["queue"].next.blind == others
    assert "you helped to make it" in text_of(page)
    sheet = sheet_of(client, own, CHECKING)
    assert "You worked on this blind at railing, so someone else must check it." in text_of(sheet)
    assert f"{own.code}/record/" not in sheet.content.decode()
    refused = send(client, own, CHECKING, route.START)
    assert refused.status_code == 422
    assert "so someone else must check it" in text_of(refused)


def test_a_paused_blind_says_why_and_is_taken_up_again(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    paused = send(tablet, blind, RAILING, route.PAUSE, reason="Waiting for a part", other_reason="")
    assert "Paused: Waiting for a part. Mara Lind" in text_of(paused)
    assert "Take up railing again" in text_of(paused)
    assert "Finish railing" in text_of(send(tablet, blind, RAILING, route.RESUME))


def test_a_reason_of_ones_own_goes_before_the_listed_ones(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    paused = send(tablet, blind, RAILING, route.PAUSE, reason="Break", other_reason="Saw blade is blunt")
    assert "Paused: Saw blade is blunt." in text_of(paused)


def test_a_fault_goes_back_with_its_note_and_scrapped_parts(client, maker, checker):
    blind = released()[0]
    for station in (RAILING, VANES, STRINGING):
        work(blind, station, by=maker)
    tell(blind, CHECKING, route.START, by=checker)
    client.force_login(checker)
    fault = {"fault": "wrong_count", "back_to": RAILING, "note": "One too many on the left"}
    fault |= {"scrapped-rail": "1", "scrapped-left_carriers": "3", "scrapped-vanes": ""}
    assert send(client, blind, CHECKING, route.SEND_BACK, **fault).headers["HX-Redirect"] == "/stations/checking/"
    assert f"{blind.number} is back at railing: wrong carrier count." in text_of(queue_of(client, CHECKING))
    client.force_login(maker)
    page = sheet_of(client, blind, RAILING)
    assert "Sent back from checking: Wrong carrier count." in text_of(page)
    assert "One too many on the left Scrapped: 1 × rail, 3 × left carriers" in text_of(page)
    assert "Start railing again" in text_of(page)


def test_a_fault_without_its_kind_is_refused_and_loses_nothing(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    typed = {"note": "Bent", "scrapped-tilt_rod": "1", "scrapped-left_carriers": "3"}
    refused = send(tablet, blind, RAILING, route.SEND_BACK, fault="", back_to=RAILING, **typed)
    assert refused.status_code == 422
    page = refused.content.decode()
    assert '<details class="aside" id="send-back" open>' in page
    assert ">Bent</textarea>" in page
    assert re.search(r'id="scrapped-tilt_rod"[^>]* checked', page)
    assert re.search(r'id="scrapped-left_carriers"[^>]* value="3"', page)


def test_a_fault_goes_only_to_a_station_that_came_before(tablet, maker):
    blind = released()[0]
    work(blind, RAILING, by=maker)
    tell(blind, STRINGING, route.START, by=maker)
    page = sheet_of(tablet, blind, STRINGING)
    assert [found.key for found in page.context["back_to"]] == [RAILING, STRINGING]
    refused = send(tablet, blind, STRINGING, route.SEND_BACK, fault="other", back_to=PACKING)
    assert refused.status_code == 409


def test_a_reloaded_answer_leads_back_to_the_sheet(tablet):
    blind = released()[0]
    answer = tablet.get(reverse("station-record", args=[RAILING, blind.code]))
    assert answer.headers["Location"] == f"/stations/railing/{blind.code}/"


def test_a_forged_event_is_refused(maker):
    client = Client(enforce_csrf_checks=True)
    client.force_login(maker)
    assert send(client, released()[0], RAILING, route.START).status_code == 403


def test_a_sign_that_no_database_keeps_in_a_text_is_left_out(tablet, maker):
    blind = released()[0]
    tell(blind, VANES, route.START, by=maker)
    assert send(tablet, blind, VANES, route.STEP, key="dye_lot", value="lot\x00 7").status_code == 200
    assert send(tablet, blind, VANES, route.PAUSE, reason="\x00Break").status_code == 200
    note, pause = StationEvent.objects.of_blind(blind).filter(kind__in=(route.STEP, route.PAUSE))
    assert (note.data["value"], pause.data["reason"]) == ("lot 7", "Break")
