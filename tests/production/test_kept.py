"""What a process keeps of its pages is never out of date: after any change they are as if rendered anew."""

import re
import time
from datetime import timedelta

import pytest
from django.template import Context, Template
from django.urls import reverse

from orders import intake, languages
from orders.models import Person
from production import faults, queue, route
from production.kept import KeptTexts
from production.models import FaultKind
from production.route import CHECKING, RAILING, STRINGING, VANES
from production.templatetags import kept
from production.views import station_blind
from production.views.live import let_in
from tests.factories import AT, enter_steps, make, person, released, tell, work
from tests.production import amending
from tests.tablets import without_event_numbers

pytestmark = pytest.mark.django_db


def pages(client, blind):
    """What a tablet is shown of every station's queue, and of the blind there."""
    addresses = [reverse("station-queue", args=[place.key]) for place in route.STATIONS]
    addresses += [reverse("station-blind", args=[place.key, blind.code]) for place in route.STATIONS]
    return [without_numbers(client.get(address).content.decode()) for address in addresses]


def without_numbers(page):
    return re.sub(r'"x-csrftoken": "[^"]*"', "", without_event_numbers(page))


def forget():
    """As a process that has just begun."""
    queue._kept.clear()
    kept.parts.clear()
    station_blind.seldom.clear()
    station_blind.hands.clear()


def started(blind, maker, other):
    tell(blind, RAILING, route.START, by=maker)


def paused(blind, maker, other):
    tell(blind, RAILING, route.START, by=other)
    tell(blind, RAILING, route.PAUSE, by=other, reason="Break")


def a_step(blind, maker, other):
    tell(blind, VANES, route.START, by=maker)
    tell(blind, VANES, route.STEP, by=maker, key="dye_lot", value="lot 7")


def a_chain(blind, maker, other):
    make(blind, maker=maker, checker=other, until=RAILING)
    tell(blind, STRINGING, route.START, by=maker)
    enter_steps(blind, STRINGING, by=maker)


def sent_back(blind, maker, other):
    make(blind, maker=maker, checker=other, until=STRINGING)
    tell(blind, CHECKING, route.START, by=other)
    scrapped = [{"part": "rail", "count": "1"}]
    tell(blind, CHECKING, route.SEND_BACK, by=other, back_to=RAILING, fault="rail_damaged", scrapped=scrapped)


def asked_for(blind, maker, other):
    amending.ask(blind, width_mm=1700)


def changed(blind, maker, other):
    amending.change(blind, width_mm=1700)


def sooner(blind, maker, other):
    blind.order.due_on -= timedelta(days=1)
    blind.order.save()


def another_language(blind, maker, other):
    languages.choose(person=maker, language="es")


def another_role(blind, maker, other):
    maker.roles = ["checker"]
    maker.save()


@pytest.mark.parametrize(
    "change",
    [
        started,
        paused,
        a_step,
        a_chain,
        sent_back,
        asked_for,
        changed,
        sooner,
        another_language,
        another_role,
    ],
)
def test_after_a_change_kept_pages_are_what_they_would_be_anew(tablet, maker, change):
    blind, other = released()[0], person("checker", "maker")
    before = pages(tablet, blind)
    assert pages(tablet, blind) == before
    change(blind, maker, other)
    after = pages(tablet, blind)
    forget()
    assert after == pages(tablet, blind)
    assert after != before


def test_what_is_kept_for_one_is_not_shown_to_another(client, maker, other_maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    client.force_login(maker)
    pages(client, blind)
    client.force_login(other_maker)
    theirs = pages(client, blind)
    forget()
    assert theirs == pages(client, blind)


def test_the_next_day_says_so(tablet, maker, monkeypatch):
    blind = released(due_on=AT.date() + timedelta(days=1))[0]
    for days, words in ((0, "Due tomorrow"), (1, "Due today"), (2, "1 day late")):
        monkeypatch.setattr("django.utils.timezone.now", lambda days=days: AT + timedelta(days=days))
        tablet.force_login(maker)
        assert all(words in page for page in pages(tablet, blind)[:2])
        assert words in tablet.get(reverse("station-blind", args=[RAILING, blind.code])).content.decode()


def test_each_answer_has_numbers_and_tokens_of_its_own(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    address = reverse("station-blind", args=[RAILING, blind.code])
    answers = [tablet.get(address).content.decode() for _ in range(3)]
    numbers = [number for page in answers for number in re.findall(r'name="event_id" value="([^"]+)"', page)]
    assert len(numbers) == len(set(numbers)) > 30
    assert len({token for page in answers for token in re.findall(r'csrfmiddlewaretoken" value="(.{64})"', page)}) == 3
    assert not any(mark in page for page in answers for mark in (kept.EVENT, *kept.SIGNS))


@pytest.fixture
def sheet_for(client, monkeypatch):
    """A function: the sheet of a blind at a station for somebody, and whether it was rendered anew."""
    rendered = []
    monkeypatch.setattr(kept.KeptNode, "_made", counting(kept.KeptNode._made, rendered))

    def sheet(who, blind, station=RAILING):
        rendered.clear()
        client.force_login(who)
        page = client.get(reverse("station-blind", args=[station, blind.code])).content.decode()
        assert f"""'{{"x-person": "{who.pk}"}}'""" in page
        return page, "bench" in rendered

    return sheet


def test_whoever_has_no_hand_in_a_blind_shares_its_sheet_under_their_own_name(sheet_for, maker, other_maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    (theirs, anew), (own, for_maker) = sheet_for(other_maker, blind), sheet_for(maker, blind)
    shared = [sheet_for(who, blind) for who in (person("maker"), person("checker", "maker"))]
    assert (anew, for_maker, [again for _, again in shared]) == (True, True, [False, False])
    assert "with you, since" in own
    assert all("with you, since" not in page for page in (theirs, *(page for page, _ in shared)))
    only_looks, anew = sheet_for(person("checker"), blind)
    assert anew
    assert 'name="kind" value="pause"' in own
    assert 'name="kind" value="pause"' not in only_looks


def test_whoever_made_a_blind_shares_its_sheet_where_others_have_it_in_hand(sheet_for, maker, other_maker):
    blind = released()[0]
    work(blind, RAILING, by=maker)
    sheet_for(other_maker, blind, station=STRINGING)
    assert not sheet_for(maker, blind, station=STRINGING)[1]
    # Nobody checks what they made.
    checks, made = person("checker"), person("checker", "maker")
    tell(blind, STRINGING, route.START, by=made)
    free, _ = sheet_for(checks, blind, station=CHECKING)
    bound, anew = sheet_for(made, blind, station=CHECKING)
    assert anew
    assert "someone else must check it" in bound
    assert "someone else must check it" not in free


def counting(made, rendered):
    def counted(node, context):
        rendered.append(node.keys[0].resolve(context))
        return made(node, context)

    return counted


def test_a_sheet_that_is_kept_for_hours_lets_in_to_the_stream_for_as_long_as_a_session(
    tablet, maker, settings, monkeypatch
):
    settings.LIVE_URL = "/live/"
    blind = released()[0]
    address = reverse("station-blind", args=[RAILING, blind.code])
    now = time.time()
    for later in (0, 5 * 3600):
        monkeypatch.setattr(time, "time", lambda later=later: now + later)
        given = re.search(r'data-stream="/live/\?token=([^"]+)"', tablet.get(address).content.decode())[1]
        assert let_in(given) == pytest.approx(now + later + settings.SESSION_COOKIE_AGE, abs=2)


def test_a_customer_renamed_is_seen_after_a_minute_in_a_queue_and_at_once_on_a_sheet(tablet, maker, monkeypatch):
    blind = released()[0]
    pages(tablet, blind)
    intake.change_customer(customer=blind.order.customer, name="Renamed Interiors")
    assert "Renamed Interiors" in pages(tablet, blind)[len(route.STATIONS)]
    a_minute_later(monkeypatch)
    assert "Renamed Interiors" in pages(tablet, blind)[0]


def reworded():
    faults.reword(kind=FaultKind.objects.get(key="stiff"), words="Runs like treacle")


def other_name():
    Person.objects.filter(username="tomasz").update(first_name="Orla", last_name="Quist")


@pytest.mark.parametrize(("change", "shown"), [(reworded, "Runs like treacle"), (other_name, "Orla Quist")])
def test_names_of_people_and_faults_are_new_after_a_minute_on_a_sheet(tablet, other_maker, monkeypatch, change, shown):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=other_maker)
    pages(tablet, blind)
    change()
    a_minute_later(monkeypatch)
    assert shown in pages(tablet, blind)[len(route.STATIONS)]


def a_minute_later(monkeypatch):
    later = time.monotonic() + 61
    monkeypatch.setattr(time, "monotonic", lambda: later)


def test_a_part_is_rendered_once_for_a_key_and_each_time_without_one():
    part = Template('{% load kept %}{% keep "part" key %}{{ said }}{% endkeep %}')
    assert [part.render(Context({"key": 1, "said": said})) for said in "ab"] == ["a", "a"]
    assert part.render(Context({"key": 2, "said": "c"})) == "c"
    assert [part.render(Context({"key": None, "said": said})) for said in "de"] == ["d", "e"]


def test_a_part_of_a_part_leaves_its_numbers_to_the_whole():
    inner = '{% keep "inner" key %}{{ event_id }}{% endkeep %}'
    whole = Template('{% load kept %}{% keep "whole" key %}' + inner + "{% endkeep %}")
    given = {"key": 1, "event_id": "x", "csrf_token": "y", "maker_token": "z"}
    assert len({whole.render(Context(given)) for _ in range(3)}) == 3


def test_a_page_of_one_process_is_the_page_of_another(tablet, maker, tmp_path, monkeypatch):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    anew = pages(tablet, blind)
    for _process in range(2):
        forget()
        monkeypatch.setattr(kept, "parts", KeptTexts(most_bytes=kept.MOST_BYTES, folder=tmp_path))
        assert pages(tablet, blind) == anew
    assert len(list(tmp_path.iterdir())) > 20
