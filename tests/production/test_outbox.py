"""What waited on a tablet without network: taken once, in order, in the name of who entered it, at a possible time."""

import datetime as dt
import uuid

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from production import bench, route, tablets
from production.models import Stage, StationEvent, Tablet
from production.route import RAILING, STRINGING
from tests import factories
from tests.factories import enter_steps, released, tell, work
from tests.tablets import send

pytestmark = pytest.mark.django_db

URL = reverse("outbox")
SECOND = dt.timedelta(seconds=1)


@pytest.fixture
def blind():
    return released()[0]


@pytest.fixture
def wall(maker):
    """An enrolled tablet."""
    return Tablet.objects.create(
        name="Railing 1", station=RAILING, secret="1", enrolled_by=factories.person("manager"), enrolled_at=factories.AT
    )


def replay(client, blind, kind, *, by, station=RAILING, event_id=None, waited_ms=0, **fields):
    """Send one event that waited, as the tablet does."""
    sent = {
        "event_id": event_id or uuid.uuid4(),
        "maker": tablets.maker_token(person=by),
        "station": station,
        "code": blind.code,
        "kind": kind,
        "waited_ms": waited_ms,
        **fields,
    }
    return client.post(URL, sent)


def last(blind):
    return StationEvent.objects.of_blind(blind).last()


def test_an_event_that_waited_is_recorded_with_the_time_it_was_entered_and_received(tablet, maker, blind):
    before = timezone.now()
    answer = replay(tablet, blind, route.START, by=maker, waited_ms=600_000)
    assert (answer.status_code, answer.json()) == (200, {"result": "recorded"})
    event = last(blind)
    assert (event.kind, event.person, event.station) == (route.START, maker, RAILING)
    assert before <= event.received_at <= timezone.now()
    assert event.received_at - event.at == dt.timedelta(minutes=10)
    assert Stage.objects.get(blind=blind, station=RAILING).since == event.at


def test_the_same_event_twice_is_answered_again_and_written_once(tablet, maker, blind):
    event_id = uuid.uuid4()
    answers = [replay(tablet, blind, route.START, by=maker, event_id=event_id).json() for _ in range(3)]
    assert answers == [{"result": "recorded"}, {"result": "again"}, {"result": "again"}]
    assert StationEvent.objects.filter(event_id=event_id).count() == 1


def test_an_event_that_was_recorded_before_its_answer_was_lost_is_answered_again(tablet, maker, blind):
    event_id, url = uuid.uuid4(), reverse("station-record", args=[RAILING, blind.code])
    token = tablets.maker_token(person=maker)
    tablet.post(url, {"event_id": event_id, "maker": token, "kind": route.START})
    assert replay(tablet, blind, route.START, by=maker, event_id=event_id).json() == {"result": "again"}
    assert last(blind).received_at is None


@pytest.mark.parametrize(
    ("waited_ms", "why"),
    [("-3600000", "put back"), ("0", "no wait"), ("", "not said"), ("soon", "no number"), ("1e5", "no whole number")],
)
def test_a_clock_put_back_while_the_event_waited_dates_it_no_later_than_now(tablet, maker, blind, waited_ms, why):
    assert replay(tablet, blind, route.START, by=maker, waited_ms=waited_ms).status_code == 200, why
    assert last(blind).at == last(blind).received_at


@pytest.mark.parametrize("waited_ms", ["86400000000", "9" * 40])
def test_a_clock_put_forward_while_the_event_waited_dates_it_no_earlier_than_the_event_before(
    tablet, maker, blind, waited_ms
):
    started = tell(blind, RAILING, route.START, by=maker, at=timezone.now() - 60 * SECOND)
    replay(tablet, blind, route.STEP, by=maker, waited_ms=waited_ms, key="gap", value="63")
    assert last(blind).at == started.at


def test_a_shift_without_network_is_taken_in_order_and_dated_in_order(tablet, maker, blind):
    entered = [(route.START, {})]
    keys = [found.step for found in bench.read(blind=blind, station=RAILING).steps if found.step.must]
    for step in keys:
        value = factories.right_value(step)
        entered.append((route.STEP, {"key": step.key, **({"confirmed": "yes"} if value is True else {"value": value})}))
    entered.append((route.FINISH, {}))
    for place, (kind, fields) in enumerate(entered):
        waited = 60_000 * (len(entered) - place)
        assert replay(tablet, blind, kind, by=maker, waited_ms=waited, **fields).json() == {"result": "recorded"}
    assert Stage.objects.get(blind=blind, station=RAILING).state == route.DONE
    times = [event.at for event in StationEvent.objects.of_blind(blind)]
    assert times == sorted(times)
    assert times[-1] - times[1] >= dt.timedelta(minutes=len(keys))


def test_pause_and_send_back_are_taken_with_what_was_given(tablet, maker, blind):
    tell(blind, RAILING, route.START, by=maker)
    replay(tablet, blind, route.PAUSE, by=maker, reason="Break", other_reason="")
    assert last(blind).data == {"reason": "Break"}
    tell(blind, RAILING, route.RESUME, by=maker)
    replay(tablet, blind, route.SEND_BACK, by=maker, fault="stiff", back_to=RAILING, note="Turns hard", scrapped="")
    assert (last(blind).data["fault"], last(blind).data["note"]) == ("stiff", "Turns hard")


def test_what_the_workshop_refuses_is_refused_with_every_reason(tablet, maker, blind):
    tell(blind, RAILING, route.START, by=maker)
    enter_steps(blind, RAILING, by=maker, but=("gap", "stops"))
    answer = replay(tablet, blind, route.FINISH, by=maker)
    assert answer.status_code == 422
    assert answer.json()["result"] == "refused"
    assert [reason.split(":")[0] for reason in answer.json()["reasons"]] == ["Not measured yet", "Not confirmed yet"]


def test_what_another_did_meanwhile_is_said(tablet, maker, other_maker, blind):
    tell(blind, RAILING, route.START, by=other_maker)
    answer = replay(tablet, blind, route.START, by=maker)
    assert answer.json()["result"] == "refused"
    assert "Tomasz Okafor has had blind 0001-1 in hand at railing since" in answer.json()["reasons"][0]


def test_what_another_finished_meanwhile_is_said_to_be_done(tablet, maker, other_maker, blind):
    work(blind, RAILING, by=other_maker)
    answer = replay(tablet, blind, route.START, by=maker)
    assert answer.json()["result"] == "refused"
    assert "It is done there; there is nothing left to do. (Tomasz Okafor, since" in answer.json()["reasons"][0]


@pytest.mark.parametrize(
    ("kind", "fields"),
    [(route.STEP, {"key": "stops", "confirmed": "yes"}), (route.FINISH, {}), (route.PAUSE, {"reason": "Break"})],
)
def test_nothing_that_waited_is_added_to_a_blind_that_another_took_up_meanwhile(
    tablet, maker, other_maker, blind, kind, fields
):
    tell(blind, RAILING, route.START, by=other_maker)
    answer = replay(tablet, blind, kind, by=maker, **fields)
    assert answer.json()["result"] == "refused"
    assert "Look at it together" in answer.json()["reasons"][0]
    assert last(blind).kind == route.START
    # Online both may work on it: they see what the other enters.
    tell(blind, RAILING, route.STEP, by=maker, key="stops", value=True)


@pytest.mark.parametrize(
    "wrong", [{"event_id": "seven"}, {"kind": "paint"}, {"station": "nowhere"}, {"code": "1"}, {"code": "", "kind": ""}]
)
def test_what_makes_no_sense_is_refused_in_words_and_writes_nothing(tablet, maker, blind, wrong):
    sent = {"kind": route.START, **wrong}
    answer = replay(tablet, blind, sent.pop("kind"), by=maker, **sent)
    assert (answer.status_code, answer.json()["result"]) == (422, "refused")
    assert answer.json()["reasons"][0]
    assert last(blind).kind == route.RELEASE


@pytest.mark.parametrize("maker_field", ["", "nonsense", "WzEsbnVsbF0:1uXjVt:AAAA"])
def test_a_wrong_signature_is_refused_and_writes_nothing(tablet, maker, blind, maker_field):
    answer = replay(tablet, blind, route.START, by=maker, maker=maker_field)
    assert (answer.status_code, answer.json()["result"]) == (422, "refused")
    assert last(blind).kind == route.RELEASE


def test_what_is_older_than_three_days_is_refused_with_the_reason(tablet, maker, blind, monkeypatch):
    old = timezone.now() - tablets.REPLAYED_WITHIN - SECOND
    with monkeypatch.context() as patched:
        patched.setattr("time.time", old.timestamp)
        token = tablets.maker_token(person=maker)
    answer = replay(tablet, blind, route.START, by=maker, maker=token)
    assert answer.json()["result"] == "refused"
    assert "more than 3 days old" in answer.json()["reasons"][0]


def test_without_an_enrolled_tablet_what_waits_is_held_until_its_maker_is_signed_in(client, maker, other_maker, blind):
    event_id = uuid.uuid4()
    for session in (None, other_maker):
        if session:
            client.force_login(session)
        held = replay(client, blind, route.START, by=maker, event_id=event_id)
        assert (held.status_code, held.json()["result"]) == (401, "held")
        assert held.json()["reasons"] == ["Mara Lind must sign in on this tablet; then it is sent by itself."]
    client.force_login(maker)
    assert replay(client, blind, route.START, by=maker, event_id=event_id).json() == {"result": "recorded"}


def test_a_tablet_that_is_not_the_one_named_is_refused(tablet, maker, wall, blind):
    answer = replay(tablet, blind, route.START, by=maker, maker=tablets.maker_token(person=maker, tablet=wall))
    assert answer.json()["result"] == "refused"
    assert "entered on another tablet" in answer.json()["reasons"][0]
    assert last(blind).kind == route.RELEASE


def test_a_person_who_lost_the_role_meanwhile_is_refused(tablet, maker, blind):
    maker.roles = ["sales"]
    maker.save()
    assert "does not work at railing" in replay(tablet, blind, route.START, by=maker).json()["reasons"][0]


def test_a_blind_that_is_not_there_yet_is_refused_with_what_comes_first(tablet, maker, blind):
    answer = replay(tablet, blind, route.START, by=maker, station=STRINGING)
    assert "Finish railing first" in answer.json()["reasons"][0]


def test_a_post_needs_the_cookie_that_asking_gives(maker, blind):
    client = Client(enforce_csrf_checks=True)
    client.force_login(maker)
    assert replay(client, blind, route.START, by=maker).status_code == 403
    assert client.get(URL).json() == {"result": "ready"}
    token = client.cookies["csrftoken"].value
    sent = {"maker": tablets.maker_token(person=maker), "event_id": uuid.uuid4(), "kind": route.START}
    sent |= {"station": RAILING, "code": blind.code}
    assert client.post(URL, sent, headers={"X-CSRFToken": token}).json() == {"result": "recorded"}


def test_a_page_fetched_ahead_says_nothing_that_is_to_be_said_once(tablet, maker, blind):
    tell(blind, RAILING, route.START, by=maker)
    enter_steps(blind, RAILING, by=maker)
    send(tablet, blind, RAILING, route.FINISH)
    ahead = tablet.get(reverse("station", args=[RAILING]), headers={"Purpose": "prefetch"})
    assert "is finished" not in ahead.content.decode()
    assert "is finished" in tablet.get(reverse("station", args=[RAILING])).content.decode()
