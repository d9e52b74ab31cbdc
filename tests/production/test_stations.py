"""What a tablet shows of the stations and of a station's queue, and where a scanned code leads."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from orders import intake
from production import planning, queue, route
from production.models import Stage
from production.route import CHECKING, PACKING, RAILING, STRINGING, VANES
from tests.factories import AT, DUE, enter_steps, make, person, released, tell, work
from tests.production import amending
from tests.tablets import HTMX, queue_of, text_of, without_event_numbers

pytestmark = pytest.mark.django_db


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


@pytest.mark.parametrize("place", [0, 61], ids=["among the rows", "beyond them"])
def test_what_is_finished_elsewhere_while_the_queue_is_read_is_in_hand_no_more(maker, monkeypatch, place):
    blinds = released(lines=[{"quantity": 62}])
    tell(blinds[place], RAILING, route.START, by=maker)
    read_trace = queue.Trace

    def finished_meanwhile(**values):
        trace = read_trace(**values)
        enter_steps(blinds[place], RAILING, by=maker)
        tell(blinds[place], RAILING, route.FINISH, by=maker)
        return trace

    with monkeypatch.context() as during:
        during.setattr(queue, "Trace", finished_meanwhile)
        found = queue.read(station=RAILING, person=maker, at=AT)
    assert found.next.blind == (blinds[1] if place == 0 else blinds[0])
    assert queue.read(station=RAILING, person=maker, at=AT).total == 61


def test_the_number_of_queries_does_not_grow_with_the_queue(tablet):
    def queries(**query):
        planning.minutes_table(at=timezone.now())  # what was learned is read once a day
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


def test_an_unchanged_queue_is_answered_by_nothing_and_light_queries(tablet):
    released(lines=[{"quantity": 40}])
    fingerprint = queue_of(tablet, RAILING).context["queue"].fingerprint
    with CaptureQueriesContext(connection) as caught:
        answer = tablet.get(reverse("station-queue", args=[RAILING]), {"seen": fingerprint}, **HTMX)
    assert (answer.status_code, answer.content) == (204, b"")
    of_the_queue = [found["sql"] for found in caught if "production_" in found["sql"]]
    assert len(of_the_queue) == {"postgresql": 1, "sqlite": 2}[connection.vendor]
    assert not any("components" in query for query in of_the_queue)


@pytest.mark.parametrize("kind", ["start", "pause", "resume", "elsewhere", "sooner", "asked", "changed"])
def test_whatever_changes_the_queue_changes_what_a_tablet_has_seen(tablet, other_maker, kind):
    blind = released()[0]
    if kind in ("pause", "resume"):
        tell(blind, RAILING, route.START, by=other_maker)
    if kind == "resume":
        tell(blind, RAILING, route.PAUSE, by=other_maker)
    fingerprint = queue.fingerprint(station=RAILING, at=AT)
    if kind == "elsewhere":
        released()
    elif kind == "asked":
        amending.ask(blind, width_mm=1700)
    elif kind == "changed":
        amending.change(blind, width_mm=1700)
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


def test_tablets_that_show_the_same_are_read_for_once_and_each_change_is_seen_at_once(maker, other_maker):
    first, second = released(lines=[{"quantity": 2}])

    def read(person):
        return queue.read(station=RAILING, person=person, at=AT)

    for_all = read(maker)
    assert read(other_maker) is for_all
    tell(first, RAILING, route.START, by=maker)
    assert read(maker).next.blind == first
    assert read(maker).next.mine
    assert read(other_maker).next.blind == second
    assert [row.mine for row in read(other_maker).rows] == [False]
    tell(first, RAILING, route.PAUSE, by=maker, reason="Break")
    assert [row.setback for row in read(other_maker).rows] == ["Break"]


def test_what_is_read_for_all_is_not_kept_for_long(maker, monkeypatch):
    monkeypatch.setattr(queue, "KEPT_S", 0)
    blind = released()[0]
    queue.read(station=RAILING, person=maker, at=AT)
    intake.change_customer(customer=blind.order.customer, name="Renamed Interiors")
    assert queue.read(station=RAILING, person=maker, at=AT).next.blind.order.customer.name == "Renamed Interiors"


def test_whoever_made_a_blind_doesnt_share_the_queue_of_checkers_who_did_not(checker, other_maker):
    both = person("maker", "checker")
    own, others = released(lines=[{"quantity": 2}])
    make(own, maker=both, checker=checker, until=STRINGING)
    make(others, maker=other_maker, checker=checker, until=STRINGING)
    people = (both, checker, person("checker"))
    shown, anybodys, same = (queue.read(station=CHECKING, person=who, at=AT) for who in people)
    assert anybodys is same
    assert anybodys.next.blind == own
    assert shown.key != anybodys.key
    assert shown.next.blind == others
    assert [(row.blind, row.own_making) for row in shown.rows] == [(own, True)]


def test_a_tablet_that_shows_all_goes_on_showing_all(tablet):
    released(lines=[{"quantity": 62}])
    assert seen_at(tablet, RAILING, all=1).status_code == 204
    assert "all=1" in queue_of(tablet, RAILING, all=1).content.decode()


# Scanning.


def scan(client, station, code):
    return client.get(reverse("scan", args=[station]), {"code": code}, follow=True)


def test_a_scanned_code_and_a_typed_number_lead_to_the_blind(tablet):
    blind = released()[0]
    proved = f"{blind.number}-{blind.code[9]}"
    for code in (blind.code, f"]C0{blind.code}", proved, f" {proved} "):
        assert scan(tablet, RAILING, code).redirect_chain[-1][0] == f"/stations/railing/{blind.code}/"


def test_a_number_typed_without_its_check_digit_is_asked_about_with_the_blinds_facts_and_one_button(tablet):
    blind = released(lines=[{"room": "Landing"}])[0]
    page = scan(tablet, RAILING, blind.number)
    assert page.redirect_chain == []
    words = text_of(page)
    for said in ("Is it this one?", blind.number, "LEFT · split · 89 mm", "1820 × 1588 mm", "Landing", "24 vanes"):
        assert said in words
    assert page.content.decode().count(f'href="/stations/railing/{blind.code}/"') == 1


def test_a_mistyped_number_is_told_by_its_check_digit(tablet):
    blind = released()[0]
    page = scan(tablet, RAILING, f"{blind.number}-{(int(blind.code[9]) + 1) % 10}")
    assert page.redirect_chain[-1][0] == "/stations/railing/"
    assert "was mistyped: its check digit does not fit" in text_of(page)


def test_a_number_without_its_check_digit_that_is_not_there_yet_is_told_at_once(tablet):
    assert "is not at stringing yet" in text_of(scan(tablet, STRINGING, released()[0].number))


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
