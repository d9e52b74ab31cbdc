"""The office's page of one blind, and finding it by its code or number."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def sales(client):
    found = factories.person("sales", name="nora", first_name="Nora")
    client.force_login(found)
    factories.system()
    return found


@pytest.fixture
def maker():
    return factories.person("maker", name="max", first_name="Max", last_name="Orme")


@pytest.fixture
def checker():
    return factories.person("checker", name="cy", first_name="Cy")


def page_of(client, blind):
    answer = client.get(reverse("blind", args=[blind.code]))
    assert answer.status_code == 200
    return answer.content.decode()


def told(client, blind):
    """The history as it is shown, the newest first: (who, words, detail)."""
    history = client.get(reverse("blind", args=[blind.code])).context["history"]
    return [(str(each["event"].person), each["words"], each["detail"]) for each in history]


def test_a_blind_shows_its_frozen_figures_with_their_working_and_its_revision(client, sales):
    blind = factories.released(by=sales)[0]
    page = page_of(client, blind)
    assert "1820 × 1588" in page
    assert 'id="working-rail_cut_mm"' in page
    assert "finished width − 2 × end cover" in page
    assert "demo-38 revision 1" in page
    assert "drawing-station" in page


def test_a_blind_shows_where_it_is_at_each_station(client, sales, maker):
    blind = factories.released(by=sales)[0]
    factories.work(blind, "railing", by=maker)
    stages = client.get(reverse("blind", args=[blind.code])).context["stages"]
    assert [(stage.station, stage.state) for stage in stages] == [
        ("railing", "done"),
        ("vanes", "waiting"),
        ("stringing", "waiting"),
        ("checking", "not_yet"),
        ("packing", "not_yet"),
    ]


def test_what_happened_is_told_in_words_with_who_did_it(client, sales, maker):
    blind = factories.released(by=sales, lines=[{"special_instruction": "Odd bracket"}])[0]
    factories.work(blind, "railing", by=maker)
    history = told(client, blind)
    assert history[-1] == ("Nora", "Released to the workshop", "")
    assert history[-2] == ("Max Orme", "Railing started", "")
    assert history[0] == ("Max Orme", "Railing finished", "")
    assert ("Max Orme", "Railing: acknowledged", "Special instruction: Odd bracket") in history
    assert ("Max Orme", "Railing: counted 12", "Count the left carriers, lead carrier included.") in history
    assert any(words == "Railing: measured 63 mm" for _, words, _ in history)
    assert any(words == "Railing: confirmed" for _, words, _ in history)


def test_a_pause_is_told_with_its_reason_and_a_note_in_its_own_words(client, sales, maker):
    blind = factories.released(by=sales)[0]
    factories.tell(blind, "vanes", "start", by=maker)
    factories.tell(blind, "vanes", "step", by=maker, key="dye_lot", value="lot <7>")
    factories.tell(blind, "vanes", "pause", by=maker, reason="Out of weights")
    factories.tell(blind, "vanes", "resume", by=maker)
    assert [words for _, words, _ in told(client, blind)[:3]] == [
        "Vanes taken up again",
        "Vanes paused",
        "Vanes: noted “lot <7>”",
    ]
    page = page_of(client, blind)
    assert "Out of weights" in page
    assert "lot &lt;7&gt;" in page


def test_a_fault_is_told_with_where_it_went_and_what_was_scrapped(client, sales, maker, checker):
    blind = factories.released(by=sales)[0]
    factories.make(blind, maker=maker, checker=checker, until="stringing")
    factories.tell(blind, "checking", "start", by=checker)
    scrapped = [{"part": "cord", "count": "1"}, {"part": "tags", "count": "2"}]
    details = {"back_to": "stringing", "fault": "stiff", "note": "Catches near the end.", "scrapped": scrapped}
    factories.tell(blind, "checking", "send_back", by=checker, **details)
    faults = client.get(reverse("blind", args=[blind.code])).context["faults"]
    assert [(each["words"], each["detail"]) for each in faults] == [
        (
            "Checking sent it back to stringing: stiff to draw or tilt",
            "Catches near the end. Scrapped: 1 × cord, 2 × warning tags",
        )
    ]
    assert "attempt 2" in page_of(client, blind)


def test_a_blind_with_a_long_history_asks_the_database_no_more_than_a_new_one(client, sales, maker, checker):
    new, old = factories.released(by=sales, lines=[{"quantity": 2}])
    factories.make(old, maker=maker, checker=checker, until="checking")

    def queries(blind):
        with CaptureQueriesContext(connection) as asked:
            page_of(client, blind)
        return len(asked)

    assert old.events.count() > 20
    assert queries(old) == queries(new)


def test_a_maker_sees_the_blind_without_a_way_to_the_order(client, sales, maker):
    blind = factories.released(by=sales)[0]
    order_address = reverse("order", args=[blind.order.number])
    assert f'href="{order_address}"' in page_of(client, blind)
    client.force_login(maker)
    assert f'href="{order_address}"' not in page_of(client, blind)


def test_a_typed_number_leads_to_the_page_of_its_code(client, sales):
    blind = factories.released(by=sales)[0]
    answer = client.get(reverse("blind", args=[blind.number]))
    assert answer.url == reverse("blind", args=[blind.code])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("0099-3", "There is no blind 0099-3."),
        ("0000010012", "its check digit does not fit"),
        ("kitchen", "is not the code of a blind"),
    ],
)
def test_a_code_that_names_no_blind_is_said_with_what_to_do(client, sales, text, said):
    answer = client.get(reverse("blind", args=[text]))
    assert answer.status_code == 404
    assert said in answer.content.decode()
