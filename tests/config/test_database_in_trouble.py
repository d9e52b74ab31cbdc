"""While the database can't work it is said why, nothing is recorded by half, and what is sent again counts once."""

import pytest
from django.urls import reverse

from production.route import RAILING
from tests.config.troubled_database import cut, held, no_room, press, railing_is, starts

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_full_disk_is_said_with_nothing_written_and_the_same_event_counts_once_there_is_room(tablet, blind):
    send = press(tablet, blind)
    with no_room():
        answer = send()
        assert (answer.status_code, answer["Retry-After"]) == (503, "30")
        assert "The server&#x27;s disk is full." in answer.content.decode()
        assert (starts(blind), railing_is(blind)) == (0, "waiting")
    assert send().status_code == 302
    assert send().status_code == 302
    assert (starts(blind), railing_is(blind)) == (1, "in_hand")


def test_what_was_recorded_before_is_shown_while_the_disk_is_full(tablet, blind):
    with no_room():
        assert tablet.get(reverse("station", args=[RAILING])).status_code == 200


def test_a_database_that_is_held_for_longer_than_anybody_waits_is_busy(tablet, blind):
    send = press(tablet, blind)
    with held():
        answer = send()
    assert (answer.status_code, answer["Retry-After"]) == (503, "1")
    assert "busy with something else" in answer.content.decode()
    assert starts(blind) == 0
    assert send().status_code == 302
    assert starts(blind) == 1


@pytest.mark.parametrize("at", ["the first question", "the event", "the commit"])
def test_a_connection_that_is_lost_is_said_and_the_same_event_counts_once(tablet, blind, monkeypatch, at):
    """At the commit: lost before its answer has come, when it may have happened or not. Here it has."""
    send = press(tablet, blind)
    with cut(at, monkeypatch):
        answer = send()
    assert (answer.status_code, answer["Retry-After"]) == (503, "5")
    page = answer.content.decode()
    assert "The database doesn&#x27;t answer." in page
    assert starts(blind) == (1 if at == "the commit" else 0)
    assert send().status_code == 302
    assert (starts(blind), railing_is(blind)) == (1, "in_hand")
