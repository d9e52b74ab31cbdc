"""Every word that a maker reads at the stations can be translated: a walk over their pages in a marked language."""

import datetime as dt
import uuid

import pytest
from django.urls import reverse
from django.utils import timezone

from calc.spec import MARKETS
from production import bench, route, steps, tablets
from production.figures import LABELS
from production.models import Stage
from production.route import CHECKING, PACKING, RAILING, STRINGING, VANES
from production.workings import entry_of
from tests import factories
from tests.factories import released, tell
from tests.production import amending, marked_language
from tests.tablets import HTMX, send, sheet_of

pytestmark = [pytest.mark.django_db, pytest.mark.once]

STATIONS = (RAILING, VANES, STRINGING, CHECKING, PACKING)
DATA = ("Marlow Court Interiors", "Harbour Lane Blinds", "Kitchen", "Linden", "chalk", "Mara Lind", "Tomasz Okafor")
DATA += ("Ines Halloran", "demo-38", "Esperanto")


@pytest.fixture(autouse=True)
def marked(settings, tmp_path):
    marked_language.speak(settings, tmp_path)


@pytest.fixture
def somebody(client):
    """Somebody who may do everything at the stations."""
    found = factories.person(
        "maker", "checker", name="mara", first_name="Mara", last_name="Lind", language=marked_language.CODE
    )
    client.force_login(found)
    return found


@pytest.fixture
def colleague():
    return factories.person("maker", "checker", name="tomasz", first_name="Tomasz", last_name="Okafor")


def left_on(answer, *known):
    return marked_language.unmarked(answer.content.decode(), known=[*DATA, *known])


def take_up(blind, person, station, state=route.IN_HAND):
    Stage.objects.filter(blind=blind, station=station).update(state=state, person=person)


LOOPS = [
    {"draw": draw, "hand": hand, "loop_control": control, "market": market}
    for draw, hand, control, market in [
        ("split", "left", "tensioner", "en13120"),
        ("one_way", "right", "breakaway", "en13120"),
        ("reverse", "left", "tensioner", "australia"),
        ("split", "right", "weight", "australia"),
    ]
]
WANDS = [{"draw": draw, "operation": "wand", "market": market} for draw in ("split", "one_way") for market in MARKETS]


def blind_of(case, **line):
    case = dict(case)
    market = case.pop("market")
    height = {"installation_height_mm": 2600} if market == "australia" else {}
    return released(lines=[{**case, **height, **line}], market=market)[0]


@pytest.mark.parametrize("case", LOOPS + WANDS, ids=lambda case: "-".join(case.values()))
def test_every_sheet_before_and_while_it_is_worked_on(client, somebody, colleague, case):
    blind = blind_of(case)
    for station in STATIONS:
        assert left_on(sheet_of(client, blind, station)) == [], station
        take_up(blind, somebody, station)
        assert left_on(sheet_of(client, blind, station)) == [], station
    if blind.looped:
        for value in (blind.components["chain_drop_mm"], 4000, 6000):
            tell(blind, STRINGING, route.STEP, by=colleague, key="chain", value=value)
            assert left_on(sheet_of(client, blind, STRINGING)) == [], value


@pytest.mark.parametrize("case", [LOOPS[0], LOOPS[1], WANDS[0]], ids=lambda case: "-".join(case.values()))
def test_every_entry_right_and_wrong(client, somebody, case):
    blind = blind_of(case, special_instruction="Metal chain", concerns=list(STATIONS), bottom="chainless")
    for station in STATIONS:
        take_up(blind, somebody, station)
        wanted = [found.step for found in bench.read(blind=blind, station=station).steps if found.step.must]
        for step in wanted:
            tries = {
                steps.COUNT: ["x", "1000", step.expected, "1"],
                steps.MEASURE: ["x", "0", step.expected or "2", "1", "9000"],
                steps.NOTE: ["", "lot 7"],
            }.get(step.kind)
            for value in tries or ():
                answer = send(client, blind, station, route.STEP, key=step.key, value=value)
                assert left_on(answer, "Metal chain", "'x'", "lot 7") == [], (station, step.key, value)
            if not tries:
                for typed in ({}, {"confirmed": "yes"}):
                    answer = send(client, blind, station, route.STEP, key=step.key, **typed)
                    assert left_on(answer, "Metal chain", "None", "lot 7") == [], (station, step.key, typed)
            if step.kind == steps.MEASURE and step.tolerance_mm:
                edge = round(step.expected + step.tolerance_mm, 1)
                answer = send(client, blind, station, route.STEP, key=step.key, value=edge)
                assert left_on(answer, "Metal chain", "lot 7") == [], (station, step.key, edge)
        assert left_on(send(client, blind, station, route.FINISH), "Metal chain", "lot 7") == [], station


def test_every_way_of_putting_aside_and_going_on(client, somebody, colleague):
    blind = blind_of(LOOPS[0])
    for kind in (route.STEP, route.PAUSE, route.RESUME, route.FINISH, route.SEND_BACK, "dance"):
        answer = send(client, blind, RAILING, kind, htmx=False, back_to=RAILING, fault="other", key="gap")
        assert left_on(answer, "dance", *route.KINDS) == [], kind
        assert left_on(send(client, blind, CHECKING, kind, htmx=False)) == [] or kind == "dance", kind
    send(client, blind, RAILING, route.START)
    for reason in ("Break", "End of shift", "Waiting for a part", "Called to another job"):
        take_up(blind, somebody, RAILING)
        assert left_on(send(client, blind, RAILING, route.PAUSE, reason=reason)) == [], reason
        assert left_on(client.get(reverse("station", args=[RAILING]))) == []
        assert left_on(client.get(reverse("stations"))) == []
    take_up(blind, somebody, RAILING)
    for wrong in (
        {},
        {"fault": "other", "back_to": "moon"},
        {"fault": "other", "back_to": PACKING},
        {"fault": "other", "back_to": RAILING, "scrapped-vanes": "1"},
        {"fault": "other", "back_to": RAILING, "scrapped-left_carriers": "99"},
        {"fault": "other", "back_to": RAILING, "scrapped-rail": "1", "scrapped-headrail": "1"},
    ):
        answer = send(client, blind, RAILING, route.SEND_BACK, **wrong)
        assert left_on(answer, "moon", "'moon'", "vanes", "None") == [], wrong
    answer = send(
        client, blind, RAILING, route.SEND_BACK, fault="wrong_size", back_to=RAILING, **{"scrapped-rail": "1"}
    )
    assert answer.status_code == 200
    for page in ("station", "stations"):
        answer = client.get(reverse(page, args=[RAILING] if page == "station" else []))
        assert left_on(answer) == []
    assert left_on(sheet_of(client, blind, RAILING)) == []


def test_what_somebody_sees_of_work_that_is_not_theirs(client, somebody, colleague):
    blind = blind_of(LOOPS[0])
    take_up(blind, colleague, RAILING)
    for station in STATIONS:
        assert left_on(sheet_of(client, blind, station)) == []
        assert left_on(client.get(reverse("station", args=[station]))) == []
    tell(blind, VANES, route.START, by=somebody)
    take_up(blind, None, CHECKING, route.WAITING)
    assert left_on(sheet_of(client, blind, CHECKING)) == []
    assert left_on(send(client, blind, CHECKING, route.START)) == []
    for role in ("manager", "maker"):
        client.force_login(
            factories.person(role, name=f"x{role}", first_name="Ines", last_name="Halloran", language="eo")
        )
        assert left_on(client.get(reverse("stations"))) == []
        for station in STATIONS:
            assert left_on(client.get(reverse("station", args=[station]))) == []
            assert left_on(sheet_of(client, blind, station)) == []
            assert left_on(send(client, blind, station, route.START, htmx=False)) == []


def test_every_change_asked_for_accepted_and_taken_off(client, somebody, colleague):
    """What the customer wants and what the manager answers stay as they were typed."""
    typed = ("Wider please", "Short screws")
    one, two, three = released(lines=[{"quantity": 3}])
    take_up(one, somebody, RAILING)
    asked = amending.ask(one, by=colleague, because="Wider please", width_mm=1700)
    for page in (lambda: client.get(reverse("station", args=[RAILING])), lambda: sheet_of(client, one, RAILING)):
        assert left_on(page(), *typed) == []
    amending.accept(asked, by=colleague)
    given = {"draw": "one_way", "hand": "right", "operation": "wand", "loop_control": "", "chain": "", "room": ""}
    amending.change(two, by=colleague, special_instruction="Short screws", concerns=[RAILING, VANES], **given)
    amending.accept(amending.ask_off(three, by=colleague), by=colleague)
    for station in STATIONS:
        assert left_on(client.get(reverse("station", args=[station])), *typed) == [], station
        for blind in (one, two, three):
            assert left_on(sheet_of(client, blind, station), *typed) == [], (station, blind)
            for kind in (route.START, route.FINISH, route.SEND_BACK):
                answer = send(client, blind, station, kind, back_to=RAILING, fault="other")
                assert left_on(answer, *typed) == [], (station, blind, kind)
    old = client.get(reverse("scan", args=[RAILING]), {"code": one.code}, follow=True)
    assert left_on(old, *typed) == []


@pytest.mark.parametrize("days", [-3, -1, 0, 1, 3, 30])
def test_every_promise(client, somebody, days):
    blinds = released(lines=[{"quantity": 3}], rush=True, due_on=timezone.localdate() + dt.timedelta(days=days))
    for station in STATIONS:
        assert left_on(client.get(reverse("station", args=[station]))) == []
    assert left_on(client.get(reverse("stations"))) == []
    assert left_on(sheet_of(client, blinds[0], RAILING)) == []


def test_every_answer_to_a_scan(client, somebody):
    blind = blind_of(LOOPS[0])
    codes = [
        "",
        "12",
        "0000010010",
        "0001-9-9",
        "hello",
        "0-0",
        "0001-1",
        "0001-8",
        "9" * 28,
        blind.code,
        "98" + "1" * 26,
    ]
    for station in STATIONS:
        for code in codes:
            answer = client.get(reverse("scan", args=[station]), {"code": code}, follow=True)
            assert left_on(answer, "hello") == [], (station, code)


@pytest.mark.parametrize("case", [LOOPS[0], LOOPS[2], WANDS[0]], ids=lambda case: "-".join(case.values()))
def test_every_working(client, somebody, case):
    blind = blind_of(case)
    names = [name for name in LABELS if entry_of(blind.components, name)]
    assert len(names) > 30
    for name in names:
        url = reverse("blind-figure", args=[blind.code, name])
        assert left_on(client.get(url, {"at": RAILING})) == [], name
        assert left_on(client.get(url, **HTMX)) == [], name
    assert left_on(client.get(reverse("blind-figure", args=[blind.code, "nonsense"])), "nonsense") == []


def test_signing_in_by_password_by_pin_and_by_badge(client):
    client.cookies["django_language"] = marked_language.CODE
    url = reverse("sign-in")
    assert left_on(client.get(url, {"next": "/stations/"})) == []
    assert left_on(client.post(url, {"username": "x", "password": "y"})) == []
    person = factories.person("maker", name="mara", first_name="Mara", last_name="Lind")
    tablets.set_pin(person=person, pin="2719")
    _tablet, secret = tablets.enrol(name="Marlow Court Interiors", station=RAILING, by=person, at=timezone.now())
    client.cookies[tablets.COOKIE] = secret
    url = reverse("tablet-sign-in")
    assert left_on(client.get(url)) == []
    for typed in ({}, {"pin": "12"}, {"person": person.pk, "pin": "x"}, *[{"person": person.pk, "pin": "9999"}] * 12):
        assert left_on(client.post(url, typed)) == [], typed
    for code in ("x", "98" + "1" * 26):
        said = client.post(reverse("badge"), {"code": code}).json()["said"]
        assert said.startswith(marked_language.OPENS)
        assert said.endswith(marked_language.SHUTS)


def test_choosing_a_pin_and_the_pages_that_refuse(client, somebody):
    url = reverse("own-pin")
    assert left_on(client.get(url)) == []
    for pin, again in (("", ""), ("12", "12"), ("1234", "1234"), ("2719", "2791")):
        assert left_on(client.post(url, {"pin": pin, "again": again})) == [], pin
    assert left_on(client.get(reverse("away"))) == []
    assert left_on(client.get(reverse("station", args=["moon"])), "'moon'") == []
    assert left_on(client.get(reverse("station-blind", args=[RAILING, "0"]))) == []
    client.force_login(factories.person("sales", name="ines", first_name="Ines", last_name="Halloran", language="eo"))
    assert left_on(client.get(reverse("stations"))) == []


def test_the_rules_in_force(client, somebody):
    assert left_on(client.get(reverse("rules"))) == []


def test_what_waited_on_a_tablet_and_is_refused(client, somebody, colleague):
    blind = blind_of(LOOPS[0])
    for fields in (
        {},
        {"maker": "nonsense"},
        {"maker": tablets.maker_token(person=colleague)},
        {"maker": tablets.maker_token(person=somebody), "event_id": "x"},
        {"maker": tablets.maker_token(person=somebody), "event_id": uuid.uuid4(), "station": RAILING, "kind": "finish"},
    ):
        said = client.post(reverse("outbox"), {"code": blind.code, **fields}).json()["reasons"]
        assert said
        assert [each for each in said if marked_language.unmarked(each, known=DATA)] == []


def test_the_walk_sees_a_word_without_marks():
    page = '<p aria-label="[¡so!] else">[¡one [¡two!]!] three <b>[¡four</b> five!]</p><style>six</style>'
    assert marked_language.unmarked(page) == ["three", "else"]
