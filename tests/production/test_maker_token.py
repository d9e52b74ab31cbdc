"""Each form says whom it was shown to: nothing is recorded in another's name, or by somebody who hasn't seen it."""

import datetime as dt
import re

import pytest
from django.utils import timezone

from production import route, tablets
from production.models import StationEvent, Tablet
from production.route import RAILING
from tests import factories
from tests.factories import released, tell
from tests.tablets import HTMX, queue_of, send, sheet_of, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def wall():
    """An enrolled tablet."""
    manager = factories.person("manager")
    return Tablet.objects.create(
        name="Railing 1", station=RAILING, secret="1", enrolled_by=manager, enrolled_at=factories.AT
    )


def test_every_form_at_a_station_carries_who_it_is_for(tablet, maker):
    blind = released()[0]
    for page in (queue_of(tablet, RAILING), sheet_of(tablet, blind, RAILING)):
        html = page.content.decode()
        assert html.count('name="event_id"') == html.count('name="maker"') >= 1
    tell(blind, RAILING, route.START, by=maker)
    html = sheet_of(tablet, blind, RAILING).content.decode()
    assert html.count('name="event_id"') == html.count('name="maker"') > 5
    assert tablets.read_maker_token(sheet_of(tablet, blind, RAILING).context["maker_token"]).person == maker


@pytest.mark.parametrize("htmx", [True, False])
def test_a_form_shown_to_somebody_else_is_refused_and_keeps_what_was_typed(tablet, maker, other_maker, htmx):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    theirs = tablets.maker_token(person=other_maker)
    refused = send(tablet, blind, RAILING, route.STEP, maker=theirs, htmx=htmx, key="gap", value="63.5")
    assert refused.status_code == 409
    assert "opened by Tomasz Okafor, and Mara Lind has signed in since" in text_of(refused)
    assert 'value="63.5"' in refused.content.decode()
    assert not StationEvent.objects.filter(blind=blind, kind=route.STEP).exists()
    assert ('id="who" hx-swap-oob="true"><a href="/you/">Mara Lind' in refused.content.decode()) is htmx
    # The page that comes back is hers: pressed again, it is recorded for her.
    again = refused.context["maker_token"]
    assert send(tablet, blind, RAILING, route.STEP, maker=again, key="gap", value="63.5").status_code == 200


def test_a_start_from_a_queue_shown_to_somebody_else_is_refused_on_a_fresh_queue(tablet, other_maker):
    blind = released()[0]
    theirs = {"maker": tablets.maker_token(person=other_maker), "from": "queue"}
    refused = send(tablet, blind, RAILING, route.START, **theirs)
    assert refused.headers["HX-Refresh"] == "true"
    assert "Not recorded. This page was opened by Tomasz Okafor" in text_of(queue_of(tablet, RAILING))
    assert send(tablet, blind, RAILING, route.START, htmx=False, **theirs).status_code == 409
    assert not StationEvent.objects.filter(blind=blind, kind=route.START).exists()


@pytest.mark.parametrize("part", ["queue", "sheet"])
def test_a_page_that_follows_the_workshop_is_loaded_anew_once_somebody_else_has_signed_in(tablet, maker, part):
    blind = released()[0]
    page = queue_of(tablet, RAILING) if part == "queue" else sheet_of(tablet, blind, RAILING)
    asks = re.search(r'hx-get="([^"]+)"', page.content.decode())[1]
    assert f'hx-headers=\'{{"x-person": "{maker.pk}"}}\'' in page.content.decode()
    for person, answered in ((maker.pk, 204), (maker.pk + 1, 200)):
        answer = tablet.get(asks, HTTP_X_PERSON=str(person), **HTMX)
        assert (answer.status_code, answer.headers.get("HX-Refresh")) == (answered, None if answered == 204 else "true")
        assert not answer.content


@pytest.mark.parametrize("token", ["", "nonsense", "WzEsbnVsbF0:1vNabc:forged"])
def test_a_form_that_says_nobody_or_was_altered_is_refused(tablet, token):
    blind = released()[0]
    refused = send(tablet, blind, RAILING, route.START, maker=token)
    assert refused.status_code == 409
    assert "Reload it and do it again" in text_of(refused)


def test_an_event_that_waited_on_the_tablet_is_whose_the_form_was(maker, wall):
    token = tablets.maker_token(person=maker, tablet=wall)
    assert tablets.replayed_for(token, tablet=wall) == maker


def test_an_event_that_waited_elsewhere_is_refused(maker, wall):
    other = Tablet.objects.create(
        name="Vanes 1", station="vanes", secret="2", enrolled_by=wall.enrolled_by, enrolled_at=factories.AT
    )
    for token, tablet in [
        (tablets.maker_token(person=maker, tablet=wall), other),
        (tablets.maker_token(person=maker), wall),
        (tablets.maker_token(person=maker), None),
        (tablets.maker_token(person=maker, tablet=wall), None),
    ]:
        with pytest.raises(tablets.Refused, match="on another tablet"):
            tablets.replayed_for(token, tablet=tablet)


def test_an_event_waits_for_three_days_at_most(maker, wall, monkeypatch):
    token = tablets.maker_token(person=maker, tablet=wall)
    now = timezone.now().timestamp()
    monkeypatch.setattr("time.time", lambda: now + dt.timedelta(days=3).total_seconds() - 5)
    assert tablets.replayed_for(token, tablet=wall) == maker
    monkeypatch.setattr("time.time", lambda: now + dt.timedelta(days=3).total_seconds() + 5)
    with pytest.raises(tablets.Refused, match="more than 3 days old"):
        tablets.replayed_for(token, tablet=wall)


def test_somebody_who_may_no_longer_sign_in_sends_nothing(maker, wall):
    token = tablets.maker_token(person=maker, tablet=wall)
    maker.is_active = False
    maker.save()
    with pytest.raises(tablets.Refused):
        tablets.replayed_for(token, tablet=wall)
