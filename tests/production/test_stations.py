"""What a tablet at a station is shown, what it may record, and what it is refused."""

import re
import uuid
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from production import bench, queue, route
from production.models import Stage, StationEvent
from production.route import CHECKING, PACKING, RAILING, STRINGING, VANES
from tests import factories
from tests.factories import AT, DUE, enter_steps, make, person, released, tell, work

pytestmark = pytest.mark.django_db

HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def maker():
    return person("maker", name="mara", first_name="Mara", last_name="Lind")


@pytest.fixture
def other_maker():
    return person("maker", name="tomasz", first_name="Tomasz", last_name="Okafor")


@pytest.fixture
def checker():
    return person("checker", name="ines", first_name="Ines", last_name="Halloran")


@pytest.fixture
def tablet(client, maker):
    """A tablet that the maker is signed in on."""
    client.force_login(maker)
    return client


def send(client, blind, station, kind, *, event_id=None, htmx=True, **fields):
    url = reverse("station-record", args=[station, blind.code])
    data = {"event_id": event_id or uuid.uuid4(), "kind": kind, **fields}
    return client.post(url, data, **(HTMX if htmx else {}))


def text_of(answer):
    """What stands on the page, without its tags."""
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).replace("&#x27;", "'").split())


def without_event_numbers(html):
    """Each page numbers its events anew."""
    return re.sub(r'name="event_id" value="[^"]+"|csrfmiddlewaretoken" value="[^"]+"', "", html)


def sheet_of(client, blind, station):
    return client.get(reverse("station-blind", args=[station, blind.code]))


def queue_of(client, station, **query):
    return client.get(reverse("station", args=[station]), query)


# Choosing a station.


def test_a_maker_chooses_among_the_stations_of_makers_and_may_look_at_checking(tablet):
    page = tablet.get(reverse("stations"))
    assert [found["place"].key for found in page.context["own"]] == [RAILING, VANES, STRINGING, PACKING]
    assert [found["place"].key for found in page.context["others"]] == [CHECKING]


def test_each_station_shows_its_counts_and_its_oldest_promised_day(tablet, maker):
    today = timezone.localdate()
    late = released(due_on=today - timedelta(days=2), lines=[{"quantity": 2}])
    released(due_on=today + timedelta(days=1))
    tell(late[0], RAILING, route.START, by=maker)
    railing = tablet.get(reverse("stations")).context["own"][0]
    assert railing["counts"] == {route.WAITING: 2, route.IN_HAND: 1}
    assert railing["oldest"] == "2 days late"
    assert railing["in_hand"].blind == late[0]


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (-3, "3 days late"),
        (-1, "1 day late"),
        (0, "due today"),
        (1, "due tomorrow"),
        (6, "due Tuesday"),
        (7, "due Wed 11 Mar"),
    ],
)
def test_a_promised_day_is_said_in_words(days, words):
    today = AT.date()  # Wednesday 4 March 2026
    assert queue.due_words(due_on=today + timedelta(days=days), today=today) == words


@pytest.mark.parametrize("name", ["stations", "station", "station-queue", "scan", "station-blind"])
def test_sales_are_not_shown_a_station(client, name):
    client.force_login(person("sales"))
    blind = released()[0]
    args = {"stations": [], "station-blind": [RAILING, blind.code]}.get(name, [RAILING])
    assert client.get(reverse(name, args=args)).status_code == 403


def test_a_station_that_does_not_exist_is_a_missing_page(tablet):
    assert queue_of(tablet, "welding").status_code == 404


# The queue.


def test_the_queue_is_in_the_order_of_work_promised_day_then_rush_then_number(tablet):
    later = released(due_on=DUE + timedelta(days=9))[0]
    plain = released()[0]
    rushed = released(rush=True)[0]
    page = queue_of(tablet, RAILING)
    assert page.context["queue"].next.blind == rushed
    assert [row.blind for row in page.context["queue"].rows] == [plain, later]


def test_the_next_blind_can_be_started_by_one_button(tablet):
    blind = released()[0]
    page = queue_of(tablet, RAILING)
    assert f"Start railing {blind.number}" in text_of(page)
    assert page.content.decode().count('class="main"') == 1


def test_what_the_maker_has_in_hand_comes_first(tablet, maker):
    first, second = released(lines=[{"quantity": 2}])
    tell(second, RAILING, route.START, by=maker)
    page = queue_of(tablet, RAILING)
    assert page.context["queue"].next.blind == second
    assert f"Go on with {second.number}" in text_of(page)
    assert [row.blind for row in page.context["queue"].rows] == [first]


def test_what_somebody_else_has_in_hand_stays_in_its_place_with_name_and_time(tablet, other_maker):
    first, second = released(lines=[{"quantity": 2}])
    tell(first, RAILING, route.START, by=other_maker)
    page = queue_of(tablet, RAILING)
    assert page.context["queue"].next.blind == second
    assert "In hand with Tomasz Okafor, since Wed 4 Mar 09:00" in text_of(page)


def test_a_paused_and_a_sent_back_blind_say_why(tablet, maker, other_maker, checker):
    paused, faulty = released(lines=[{"quantity": 2}])
    make(faulty, maker=other_maker, checker=checker, until=STRINGING)
    tell(faulty, CHECKING, route.START, by=checker)
    tell(faulty, CHECKING, route.SEND_BACK, by=checker, back_to=RAILING, fault="wrong_count")
    tell(paused, RAILING, route.START, by=other_maker)
    tell(paused, RAILING, route.PAUSE, by=other_maker, reason="Waiting for a part")
    rows = [*queue_of(tablet, RAILING).context["queue"].rows, queue_of(tablet, RAILING).context["queue"].next]
    assert {row.blind.number: row.setback for row in rows} == {
        paused.number: "Waiting for a part",
        faulty.number: "Wrong carrier count",
    }


def test_a_special_instruction_stands_out_only_where_it_concerns(tablet):
    released(lines=[{"special_instruction": "Metal chain", "concerns": [RAILING]}])
    assert "Metal chain" in text_of(queue_of(tablet, RAILING))
    assert "Metal chain" not in text_of(queue_of(tablet, VANES))


def test_what_is_coming_says_what_it_waits_for(tablet, other_maker):
    blind = released()[0]
    assert queue_of(tablet, STRINGING).context["queue"].coming_total == 0
    tell(blind, RAILING, route.START, by=other_maker)
    page = queue_of(tablet, STRINGING)
    assert page.context["queue"].total == 0
    assert "Nothing is waiting at stringing" in text_of(page)
    assert "waits for railing (in hand, Tomasz Okafor)" in text_of(page)


def test_checking_waits_for_both_its_branches(client, maker, checker):
    blind = released()[0]
    work(blind, RAILING, by=maker)
    work(blind, STRINGING, by=maker)
    client.force_login(checker)
    assert "waits for vanes (waiting)" in text_of(queue_of(client, CHECKING))


def test_an_empty_queue_says_so(tablet):
    assert "Nothing is waiting at packing." in text_of(queue_of(tablet, PACKING))


def test_a_long_queue_shows_its_first_sixty_and_leads_to_the_rest(tablet):
    released(lines=[{"quantity": 70}])
    page = queue_of(tablet, RAILING)
    assert len(page.context["queue"].rows) == 59  # and the next one, above them
    assert "and 10 more" in text_of(page)
    assert len(queue_of(tablet, RAILING, all=1).context["queue"].rows) == 69


def test_what_the_maker_has_in_hand_comes_first_from_beyond_the_rows_that_are_shown(tablet, maker):
    last = released(lines=[{"quantity": 62}])[-1]
    tell(last, RAILING, route.START, by=maker)
    found = queue_of(tablet, RAILING).context["queue"]
    assert found.next.blind == last
    assert (len(found.rows), found.left_off) == (60, 1)


def test_the_number_of_queries_does_not_grow_with_the_queue(tablet):
    def queries(**query):
        with CaptureQueriesContext(
            connection,
        ) as caught:
            queue_of(tablet, RAILING, **query)
        return len(caught)

    released()
    few = queries()
    for _ in range(4):
        released(lines=[{"quantity": 75}])
    assert Stage.objects.queued_at(RAILING).count() == 301
    assert queries() == few
    assert queries(all=1) == few


# Following the queue.


def seen_at(client, station, **query):
    fingerprint = queue_of(client, station, **query).context["queue"].fingerprint
    return client.get(reverse("station-queue", args=[station]), {"seen": fingerprint, **query}, **HTMX)


def test_an_unchanged_queue_is_answered_by_nothing_and_one_light_query(tablet):
    released(lines=[{"quantity": 40}])
    fingerprint = queue_of(tablet, RAILING).context["queue"].fingerprint
    with CaptureQueriesContext(connection) as caught:
        answer = tablet.get(reverse("station-queue", args=[RAILING]), {"seen": fingerprint}, **HTMX)
    assert (answer.status_code, answer.content) == (204, b"")
    of_the_queue = [found["sql"] for found in caught if "production_" in found["sql"]]
    assert len(of_the_queue) == 1
    assert "components" not in of_the_queue[0]


@pytest.mark.parametrize("kind", ["start", "pause", "resume", "elsewhere", "sooner"])
def test_whatever_changes_the_queue_changes_what_a_tablet_has_seen(tablet, other_maker, kind):
    blind = released()[0]
    if kind in ("pause", "resume"):
        tell(blind, RAILING, route.START, by=other_maker)
    if kind == "resume":
        tell(blind, RAILING, route.PAUSE, by=other_maker)
    fingerprint = queue.fingerprint(station=RAILING, at=AT)
    if kind == "elsewhere":
        released()
    elif kind == "sooner":
        blind.order.due_on -= timedelta(days=1)
        blind.order.save()
    else:
        tell(blind, RAILING, kind, by=other_maker, at=AT + timedelta(minutes=5))
    assert queue.fingerprint(station=RAILING, at=AT) != fingerprint


def test_midnight_changes_the_queue_since_late_is_said_in_words():
    released()
    assert queue.fingerprint(station=RAILING, at=AT) != queue.fingerprint(station=RAILING, at=AT + timedelta(days=1))


def test_a_station_is_not_disturbed_by_steps_done_elsewhere(tablet, other_maker):
    blind = released()[0]
    tell(blind, VANES, route.START, by=other_maker)
    fingerprint = queue.fingerprint(station=RAILING, at=AT)
    tell(blind, VANES, route.STEP, by=other_maker, key="dye_lot", value="lot 7")
    assert queue.fingerprint(station=RAILING, at=AT) == fingerprint


def test_the_queue_that_a_tablet_follows_is_the_one_on_the_page(tablet):
    released(lines=[{"quantity": 3}])
    page = without_event_numbers(queue_of(tablet, RAILING).content.decode())
    partial = without_event_numbers(tablet.get(reverse("station-queue", args=[RAILING]), **HTMX).content.decode())
    assert partial.strip() in page


def test_a_tablet_that_shows_all_goes_on_showing_all(tablet):
    released(lines=[{"quantity": 62}])
    assert seen_at(tablet, RAILING, all=1).status_code == 204
    assert "all=1" in queue_of(tablet, RAILING, all=1).content.decode()


# Scanning.


def scan(client, station, code):
    return client.get(reverse("scan", args=[station]), {"code": code}, follow=True)


def test_a_scanned_code_and_a_typed_number_lead_to_the_blind(tablet):
    blind = released()[0]
    for code in (blind.code, f"]C0{blind.code}", blind.number, f" {blind.number} "):
        assert scan(tablet, RAILING, code).redirect_chain[-1][0] == f"/stations/railing/{blind.code}/"


def test_a_misread_code_is_told_by_its_check_digit(tablet):
    blind = released()[0]
    wrong = blind.code[:-1] + str((int(blind.code[-1]) + 1) % 10)
    page = scan(tablet, RAILING, wrong)
    assert page.redirect_chain[-1][0] == "/stations/railing/"
    assert "its check digit does not fit" in text_of(page)


def test_a_number_that_no_blind_has_is_told(tablet):
    assert "There is no blind 0999-1 in the workshop" in text_of(scan(tablet, RAILING, "0999-1"))


def test_a_blind_that_is_not_there_yet_says_what_it_waits_for(tablet, other_maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=other_maker)
    page = scan(tablet, STRINGING, blind.code)
    assert f"{blind.number} is not at stringing yet. It waits for railing (in hand, Tomasz Okafor)." in text_of(page)


def test_nothing_scanned_is_told(tablet):
    assert "Nothing was read" in text_of(scan(tablet, RAILING, ""))


# The sheet of one blind.


def figures_on(page):
    return {figure.name: figure.value for figure in page.context["figures"]}


def test_railing_shows_the_figures_of_railing_and_no_others(tablet):
    # The worked example of the demo system: 1830 x 1600 recess, split, left, 89 mm.
    assert figures_on(sheet_of(tablet, released()[0], RAILING)) == {
        "Rail": 1814,
        "Tilt rod": 1805,
        "Left carriers": 12,
        "Right carriers": 12,
        "Left tube": 25,
        "Right tube": 25,
        "Gap": 63,
        "Rail stops": 2,
    }


def test_a_one_way_blind_has_carriers_of_one_hand(tablet):
    figures = figures_on(sheet_of(tablet, released(lines=[{"draw": "one_way"}])[0], RAILING))
    assert "Left carriers" in figures
    assert "Right carriers" not in figures


def test_a_carrier_is_drawn_as_a_mark(tablet):
    page = sheet_of(tablet, released()[0], RAILING).content.decode()
    left = re.search(r"Left carriers</dt>.*?</dd>", page, re.DOTALL).group()
    assert left.count("<i") == 12
    assert left.count('class="lead"') == 1


def test_vanes_and_packing_show_theirs(tablet):
    blind = released()[0]
    assert figures_on(sheet_of(tablet, blind, VANES)) == {
        "Vanes": 24,
        "Cut": 1616,
        "Finished": 1546,
        "Fabric": 38.784,
        "Dye lot": None,
    }
    assert figures_on(sheet_of(tablet, blind, PACKING)) == {
        "Vanes": 24,
        "Bottom weights": 24,
        "Brackets": 3,
        "Bottom chain": 3520,
    }


def test_a_wand_blind_has_no_cord_and_no_safety_step_of_a_loop(tablet, maker):
    blind = released(lines=[{"operation": "wand"}])[0]
    work(blind, RAILING, by=maker)
    page = sheet_of(tablet, blind, STRINGING)
    assert figures_on(page) == {"Wands": 2, "Wand": 1000}
    assert "Child safety" not in text_of(page)


def test_the_sheet_heads_with_hand_draw_and_vane_width(tablet):
    assert "LEFT · split · 89 mm" in text_of(sheet_of(tablet, released()[0], RAILING))


def test_the_cord_is_not_cut_before_the_chain_is_measured(tablet, maker):
    blind = released()[0]
    work(blind, RAILING, by=maker)
    tell(blind, STRINGING, route.START, by=maker)
    page = sheet_of(tablet, blind, STRINGING)
    assert figures_on(page)["Cord cut"] is None
    assert "5624" not in page.content.decode()  # the cut by the nominal chain stands nowhere, the drawing included
    answer = send(tablet, blind, STRINGING, route.STEP, key="chain", value="975")
    # Cut = 2 x (rail + measured chain + 20) = 2 x (1814 + 975 + 20).
    assert figures_on(answer)["Cord cut"] == 5618
    assert "5618" in re.search(r"<svg.*?</svg>", answer.content.decode(), re.DOTALL).group()


def test_a_chain_that_would_let_the_cord_hang_too_low_stops_the_blind(tablet, maker):
    blind = released()[0]
    work(blind, RAILING, by=maker)
    tell(blind, STRINGING, route.START, by=maker)
    enter_steps(blind, STRINGING, by=maker, but=("chain",))
    answer = send(tablet, blind, STRINGING, route.STEP, key="chain", value="981")
    assert "a cord drop of 1001 mm; a loop may hang 1000 mm" in text_of(answer)
    assert "Don't cut the cord" in text_of(answer)
    assert figures_on(answer)["Cord cut"] is None
    assert send(tablet, blind, STRINGING, route.FINISH).status_code == 422


@pytest.mark.parametrize("value", ["6000", "9999.9"])
def test_a_chain_measured_beyond_all_bounds_still_shows_the_sheet(tablet, maker, value):
    blind = released()[0]
    work(blind, RAILING, by=maker)
    tell(blind, STRINGING, route.START, by=maker)
    answer = send(tablet, blind, STRINGING, route.STEP, key="chain", value=value)
    assert "Stop." in text_of(answer)
    assert sheet_of(tablet, blind, STRINGING).status_code == 200


def test_a_measured_gap_is_judged_at_once(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    # 63 +-5.2; a class II tape over 100 mm is off by up to 0.5 (MID, directive 2014/32/EU annex X).
    within = send(tablet, blind, RAILING, route.STEP, key="gap", value="64,5")
    assert "Within: 63 ±5.2 mm" in text_of(within)
    doubtful = send(tablet, blind, RAILING, route.STEP, key="gap", value="68")
    assert "Doubtful" in text_of(doubtful)
    assert "Measure again with a better instrument" in text_of(doubtful)
    outside = send(tablet, blind, RAILING, route.STEP, key="gap", value="143")
    assert "Outside 63 ±5.2 mm. A carrier too few" in text_of(outside)


def test_a_wrong_count_is_told_at_once(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    answer = send(tablet, blind, RAILING, route.STEP, key="carriers_left", value="11")
    assert answer.status_code == 200
    assert "Not 12. Count again." in text_of(answer)


def test_a_special_instruction_is_acknowledged_before_the_station_is_finished(tablet, maker):
    blind = released(lines=[{"special_instruction": "Metal chain", "concerns": [RAILING]}])[0]
    tell(blind, RAILING, route.START, by=maker)
    enter_steps(blind, RAILING, by=maker, but=("special_instruction",))
    refused = send(tablet, blind, RAILING, route.FINISH)
    assert refused.status_code == 422
    assert "Not acknowledged yet: Special instruction: Metal chain" in text_of(refused)
    send(tablet, blind, RAILING, route.STEP, key="special_instruction", confirmed="yes")
    assert send(tablet, blind, RAILING, route.FINISH).status_code == 200


def test_the_answer_to_an_event_is_the_sheet_that_the_page_shows(tablet):
    blind = released()[0]
    answer = send(tablet, blind, RAILING, route.START)
    page = sheet_of(tablet, blind, RAILING)
    assert without_event_numbers(answer.content.decode()).strip() in without_event_numbers(page.content.decode())


def test_a_sheet_that_has_not_changed_is_answered_by_nothing(tablet, other_maker):
    blind = released()[0]
    url = reverse("station-blind", args=[RAILING, blind.code])
    assert tablet.get(url, {"seen": 1}, **HTMX).status_code == 204
    tell(blind, RAILING, route.START, by=other_maker)
    changed = tablet.get(url, {"seen": 1}, **HTMX)
    assert changed.status_code == 200
    assert 'data-last="Tomasz Okafor at Wed 4 Mar 09:00"' in changed.content.decode()


def test_the_number_of_queries_of_a_sheet_does_not_grow_with_what_was_entered(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)

    def queries():
        with CaptureQueriesContext(connection) as caught:
            sheet_of(tablet, blind, RAILING)
        return len(caught)

    before = queries()
    enter_steps(blind, RAILING, by=maker)
    assert queries() == before


def test_a_blind_that_does_not_exist_is_a_missing_page(tablet):
    assert tablet.get(reverse("station-blind", args=[RAILING, "0000990014"])).status_code == 404


# Recording.


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
    refused = tablet.post(url, {"event_id": event_id, "kind": route.START}, **HTMX)
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
    fault = {"fault": "wrong_count", "back_to": RAILING, "note": "One too many on the left", "scrapped": "1 rail"}
    assert send(client, blind, CHECKING, route.SEND_BACK, **fault).headers["HX-Redirect"] == "/stations/checking/"
    assert f"{blind.number} is back at railing: wrong carrier count." in text_of(queue_of(client, CHECKING))
    client.force_login(maker)
    page = sheet_of(client, blind, RAILING)
    assert "Sent back from checking: Wrong carrier count." in text_of(page)
    assert "One too many on the left Scrapped: 1 rail" in text_of(page)
    assert "Start railing again" in text_of(page)


def test_a_fault_without_its_kind_is_refused_and_loses_nothing(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    refused = send(tablet, blind, RAILING, route.SEND_BACK, fault="", back_to=RAILING, note="Bent", scrapped="1 rod")
    assert refused.status_code == 422
    page = refused.content.decode()
    assert '<details class="aside" id="send-back" open>' in page
    assert ">Bent</textarea>" in page
    assert 'value="1 rod"' in page


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
