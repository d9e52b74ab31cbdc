"""The server's clock is set back an hour while the workshop works: nothing is lost, and nothing waits for it."""

import datetime as dt
import re
import uuid

import pytest
from django.urls import reverse
from django.utils import timezone

from orders import api_keys, throttle
from orders.models import ApiKey, Person
from production import planning, replay, route, tablets, well
from production.clock import ALLOWED, clock_doubt
from production.models import Stage, StationEvent
from tests import factories
from tests.tablets import PIN, enrolled, maker_of, queue_of, sheet_of, text_of

pytestmark = pytest.mark.django_db
HOUR = dt.timedelta(hours=1)
NOW = dt.datetime(2026, 3, 4, 14, 30, tzinfo=dt.UTC)


class Clock:
    """The clock that every page reads by `timezone.now`."""

    def __init__(self, at):
        self.at = at

    def __call__(self):
        return self.at


@pytest.fixture
def clock(monkeypatch):
    found = Clock(NOW)
    monkeypatch.setattr(timezone, "now", found)
    return found


def press(client, blind, kind, **fields):
    sent = {"event_id": uuid.uuid4(), "maker": maker_of(client), "kind": kind, **fields}
    answer = client.post(reverse("station-record", args=[route.RAILING, blind.code]), sent)
    assert answer.status_code == 302, answer.content.decode()


def worked_over_the_change(clock, client, blind, maker):
    press(client, blind, route.START)
    clock.at += dt.timedelta(minutes=20)
    factories.enter_steps(blind, route.RAILING, by=maker, at=clock())
    clock.at -= HOUR
    press(client, blind, route.PAUSE, reason="Break")
    clock.at += dt.timedelta(minutes=5)
    press(client, blind, route.RESUME)
    press(client, blind, route.FINISH)


def test_the_log_stands_in_its_order_and_nothing_takes_less_than_no_time(clock, tablet, maker):
    blind, *_ = factories.released(at=NOW - dt.timedelta(days=1))
    worked_over_the_change(clock, tablet, blind, maker)
    events = [event for event in StationEvent.objects.of_blind(blind) if event.kind != route.STEP]
    assert [event.kind for event in events] == ["release", "start", "pause", "resume", "finish"]
    moments = [event.at for event in events]
    assert moments == sorted(moments)
    assert Stage.objects.get(blind=blind, station=route.RAILING).since == events[-1].at
    assert list(replay.differing()) == []


def test_every_page_that_reckons_with_time_is_still_shown(clock, client, manager, maker):
    blind, other = factories.released(at=NOW - dt.timedelta(days=1), lines=[{"quantity": 2}])
    factories.work(blind, route.RAILING, by=maker, at=NOW)
    factories.tell(other, route.RAILING, route.START, by=maker, at=NOW)
    clock.at = NOW - HOUR
    pages = [reverse(name) for name in ("day", "plan", "plan-minutes", "well", "stations")]
    pages += [reverse("order", args=[blind.order.number]), reverse("blind", args=[blind.code])]
    for page in pages:
        answer = client.get(page)
        assert answer.status_code == 200, page
        assert not re.search(r"[−-]\d+(\.\d+)? (min|h|hours|days)\b", text_of(answer)), page
    assert queue_of(client, route.RAILING).status_code == 200
    assert sheet_of(client, other, route.RAILING).status_code == 200


def test_minutes_are_learned_from_no_work_that_took_less_than_no_time(clock, maker):
    """Nine blinds, since eight are enough, each finished half an hour before it was begun by the clock."""
    day_before = NOW - dt.timedelta(days=1)
    for blind in factories.released(at=day_before - HOUR, lines=[{"quantity": 9}]):
        factories.tell(blind, route.RAILING, route.START, by=maker, at=day_before)
        factories.enter_steps(blind, route.RAILING, by=maker, at=day_before)
        factories.tell(blind, route.RAILING, route.FINISH, by=maker, at=day_before - HOUR / 2)
    [found] = [found for found in planning.minutes_table(at=NOW).values() if found.blinds]
    assert (found.blinds, found.learned) == (9, 1)


def test_a_pin_waits_no_longer_than_it_would_have(client, mara):
    wall = enrolled(client)

    def wrong(at):
        with pytest.raises(tablets.Refused):
            tablets.sign_in_by_pin(tablet=wall, person_pk=mara.pk, pin="9173", at=at)

    for _ in range(3):
        wrong(NOW)
    assert Person.objects.get(pk=mara.pk).pin_waits_until == NOW + dt.timedelta(seconds=10)
    with pytest.raises(tablets.Refused, match="Too many wrong PINs"):
        tablets.sign_in_by_pin(tablet=wall, person_pk=mara.pk, pin=PIN, at=NOW + dt.timedelta(seconds=5))
    assert tablets.sign_in_by_pin(tablet=wall, person_pk=mara.pk, pin=PIN, at=NOW - HOUR) == mara


def test_a_tablet_waits_no_longer_than_it_would_have_and_still_counts(client, mara):
    wall = enrolled(client)

    def wrong(at):
        with pytest.raises(tablets.Refused) as refused:
            tablets.sign_in_by_badge(tablet=wall, code=_unknown_badge(), at=at)
        return str(refused.value)

    for _ in range(tablets.TABLET_TRIES):
        assert "isn't known here" in wrong(NOW)
    assert "Too many wrong tries" in wrong(NOW)
    for _ in range(tablets.TABLET_TRIES):
        assert "isn't known here" in wrong(NOW - HOUR)
    assert "Too many wrong tries" in wrong(NOW - HOUR)


def _unknown_badge():
    from production import codes

    return codes.badge_code(7)


def test_another_program_waits_no_longer_than_it_would_have_and_still_counts(clock):
    key, _secret = api_keys.make(
        name="Shop", scopes=["read"], every_customer=True, customers=[], by=factories.person("administrator"), at=NOW
    )

    def turns(at):
        return sum(api_keys.take_turn(key=ApiKey.objects.get(pk=key.pk), at=at) == 0 for _ in range(300))

    at_once = turns(NOW)
    assert at_once == api_keys.AT_ONCE
    assert turns(NOW - HOUR) == api_keys.AT_ONCE


A_MOMENT_EARLIER = pytest.mark.parametrize("by", [dt.timedelta(milliseconds=1), dt.timedelta(seconds=59)])
"""As the first of several at once is, where it is counted last, or the clock of another machine."""


@A_MOMENT_EARLIER
def test_what_came_a_moment_earlier_opens_no_more_tries_at_a_pin(client, mara, by):
    wall = enrolled(client)
    for _ in range(tablets.WAITS_AFTER):
        with pytest.raises(tablets.Refused):
            tablets.sign_in_by_pin(tablet=wall, person_pk=mara.pk, pin="9173", at=NOW)
    with pytest.raises(tablets.Refused, match="Too many wrong PINs"):
        tablets.sign_in_by_pin(tablet=wall, person_pk=mara.pk, pin=PIN, at=NOW - by)


@A_MOMENT_EARLIER
def test_what_came_a_moment_earlier_opens_no_more_tries_on_a_tablet(client, mara, by):
    wall = enrolled(client)
    for _ in range(tablets.TABLET_TRIES):
        with pytest.raises(tablets.Refused, match="isn't known here"):
            tablets.sign_in_by_badge(tablet=wall, code=_unknown_badge(), at=NOW)
    with pytest.raises(tablets.Refused, match="Too many wrong tries"):
        tablets.sign_in_by_badge(tablet=wall, code=_unknown_badge(), at=NOW - by)


@A_MOMENT_EARLIER
def test_what_came_a_moment_earlier_opens_no_more_tries_at_a_password(by):
    def take(at):
        throttle.take(name="nora", address="10.0.0.7", is_known_there=lambda: False, at=at)

    for _ in range(throttle.HERE.tries):
        take(NOW)
    for _ in range(2):
        with pytest.raises(throttle.HeldUp):
            take(NOW - by)


@A_MOMENT_EARLIER
def test_what_came_a_moment_earlier_opens_no_more_turns_of_another_program(by):
    key, _secret = api_keys.make(
        name="Shop", scopes=["read"], every_customer=True, customers=[], by=factories.person("administrator"), at=NOW
    )
    assert [api_keys.take_turn(key=key, at=NOW) for _ in range(api_keys.AT_ONCE)] == [0] * api_keys.AT_ONCE
    assert api_keys.take_turn(key=key, at=NOW - by) > by.total_seconds()


def test_whoever_is_signed_in_stays_so(clock, client, manager):
    assert client.get(reverse("day")).status_code == 200
    clock.at -= HOUR
    assert client.get(reverse("day")).status_code == 200


def test_the_owner_is_told_of_what_lies_in_the_future(clock, maker):
    blind, *_ = factories.released(at=NOW - HOUR * 2)
    factories.tell(blind, route.RAILING, route.START, by=maker, at=NOW)
    assert clock_doubt(at=NOW) is None
    assert clock_doubt(at=NOW - ALLOWED) is None
    assert clock_doubt(at=NOW - HOUR) == NOW
    [found] = [found for found in well.wrong(at=NOW - HOUR) if found.key == "clock"]
    assert found.what.startswith("The newest event on record is of Wed 4 Mar 2026, 14:30")
    assert "clock" not in {found.key for found in well.wrong(at=NOW)}
