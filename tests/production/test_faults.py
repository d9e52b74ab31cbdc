"""The workshop's own list of what goes wrong: who edits it and how, and that what was recorded keeps its words."""

import re

import pytest
from django.urls import reverse

from production import faults, route
from production.models import FaultKind
from production.route import CHECKING, RAILING, STRINGING
from tests.factories import AT, make, person, released, tell
from tests.tablets import queue_of, send, sheet_of, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def manager(client):
    """A browser that the manager is signed in on."""
    client.force_login(person("manager"))
    return client


@pytest.fixture
def scratched():
    return faults.add(words="End cover scratched")


def kind(key):
    return FaultKind.objects.get(key=key)


def offered():
    return [each.words for each in FaultKind.objects.on_offer()]


def test_a_workshop_begins_with_a_list_that_ends_with_something_else():
    assert len(offered()) == 14
    assert (offered()[0], offered()[-1]) == ("Wrong size", "Something else")


def test_the_manager_adds_a_fault_and_makers_are_offered_it(manager, client, maker):
    manager.post(reverse("faults"), {"words": " End cover  scratched "})
    assert offered()[-1] == "End cover scratched"
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    client.force_login(maker)
    assert "End cover scratched" in text_of(sheet_of(client, blind, RAILING))
    send(client, blind, RAILING, route.SEND_BACK, fault="end_cover_scratched", back_to=RAILING)
    assert blind.events.last().data["fault"] == "end_cover_scratched"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("", "1 to 60 characters; got 0"),
        ("x" * 61, "1 to 60 characters; got 61"),
        ("wrong SIZE", "“Wrong size” is on the list already; use that one."),
    ],
)
def test_words_that_are_none_or_stand_there_already_are_refused_and_kept(manager, words, says):
    answer = manager.post(reverse("faults"), {"words": words})
    assert answer.status_code == 422
    assert says in text_of(answer)
    assert f'value="{words}"' in answer.content.decode()
    assert len(offered()) == 14


def test_words_of_a_fault_out_of_use_are_not_added_a_second_time(scratched):
    faults.take_out_of_use(kind=scratched, at=AT)
    with pytest.raises(faults.Refused, match="“End cover scratched” is out of use; take it into use again."):
        faults.add(words="End cover scratched")


@pytest.mark.parametrize("words", ["Нет цепи", "!!!", "Ω"])
def test_words_in_any_letters_make_keys_that_differ(words):
    made = [faults.add(words=words), faults.add(words=f"{words} again"), faults.add(words=f"{words} and again")]
    assert len({each.key for each in made}) == 3
    assert all(re.fullmatch(r"[\w-]{1,30}", each.key) for each in made)


def test_the_order_is_the_managers(manager):
    for to in ("up", "up", "down"):
        manager.post(reverse("fault-move", args=["wrong_count"]), {"to": to})
    assert offered()[:3] == ["Wrong size", "Wrong carrier count", "Wrong hand or draw"]
    manager.post(reverse("fault-move", args=["wrong_size"]), {"to": "up"})
    assert offered()[0] == "Wrong size"


def test_a_fault_out_of_use_is_offered_no_more_and_told_wherever_it_was_recorded(manager, client, maker, checker):
    blind = released()[0]
    make(blind, maker=maker, checker=checker, until=STRINGING)
    tell(blind, CHECKING, route.START, by=checker)
    tell(blind, CHECKING, route.SEND_BACK, by=checker, back_to=RAILING, fault="stiff")
    manager.post(reverse("fault-use", args=["stiff"]), {"in_use": "no"})
    assert "Stiff to draw or tilt" not in offered()
    page = text_of(manager.get(reverse("faults")))
    assert "Out of use" in page
    assert "Stiff to draw or tilt 1" in page
    assert "stiff to draw or tilt" in text_of(manager.get(reverse("blind", args=[blind.code])))
    client.force_login(maker)
    assert "Stiff to draw or tilt" in text_of(queue_of(client, RAILING))
    assert "Sent back from checking: Stiff to draw or tilt." in text_of(sheet_of(client, blind, RAILING))


def test_a_fault_comes_back_into_use_at_the_end_of_the_list(manager):
    for in_use in ("no", "yes"):
        manager.post(reverse("fault-use", args=["stiff"]), {"in_use": in_use})
    assert offered()[-1] == "Stiff to draw or tilt"


def test_a_page_that_was_open_when_its_fault_went_out_of_use_still_records_it(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    faults.take_out_of_use(kind=kind("stiff"), at=AT)
    send(tablet, blind, RAILING, route.SEND_BACK, fault="stiff", back_to=RAILING)
    assert blind.events.last().data["fault"] == "stiff"


def test_other_words_are_told_for_what_was_recorded_before(manager, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    tell(blind, RAILING, route.SEND_BACK, by=maker, back_to=RAILING, fault="stiff")
    manager.post(reverse("fault", args=["stiff"]), {"words": "Runs heavily"})
    assert "runs heavily" in text_of(manager.get(reverse("blind", args=[blind.code])))


def test_other_words_that_another_fault_has_are_refused_and_kept(manager):
    answer = manager.post(reverse("fault", args=["stiff"]), {"words": "Wrong size"})
    assert answer.status_code == 422
    assert 'value="Wrong size"' in answer.content.decode()
    assert kind("stiff").words == "Stiff to draw or tilt"


def test_the_last_fault_in_use_stays_in_use():
    *others, last = FaultKind.objects.on_offer()
    for each in others:
        faults.take_out_of_use(kind=each, at=AT)
    with pytest.raises(faults.Refused, match="only kind in use"):
        faults.take_out_of_use(kind=last, at=AT)
    assert offered() == ["Something else"]


def test_the_list_asks_the_database_no_more_with_more_on_it(manager, django_assert_num_queries):
    for each in range(40):
        faults.add(words=f"Fault {each}")
    with django_assert_num_queries(3):  # person by the session, kinds, counts
        manager.get(reverse("faults"))
