"""A tablet without network says of a value what the server would, and takes for a value what the server would."""

import re
from dataclasses import replace

import pytest

from calc.system import DEMO_38
from production import bench, record, route, steps
from production.route import CHECKING, RAILING, STRINGING, VANES
from production.views.verdicts import PATTERNS, verdict_on, verdicts_of
from tests.factories import enter_steps, make, person, released, system, tell, work
from tests.tablets import sheet_of, without_event_numbers

pytestmark = pytest.mark.django_db


def told_by_tablet(step, value):
    """The first of the verdicts on the page that holds the value."""
    return next(
        each
        for each in verdicts_of(step)
        if (each.from_mm is None or each.from_mm <= value) and (each.to_mm is None or value <= each.to_mm)
    )


def at(station):
    """A blind in hand at `station`, and the maker who has it."""
    blind, maker, checker = released()[0], person("maker"), person("checker")
    if station == STRINGING:
        work(blind, RAILING, by=maker)
    if station == CHECKING:
        make(blind, maker=maker, checker=checker, until=STRINGING)
    by = checker if station == CHECKING else maker
    tell(blind, station, route.START, by=by)
    return blind, by


@pytest.mark.parametrize(
    ("station", "key", "values"),
    [
        # 63 +-5.2, the tape errs by 0.5.
        (RAILING, "gap", (50, 57.2, 57.3, 58.2, 58.3, 63, 67.7, 67.8, 68.7, 68.8, 143)),
        (RAILING, "carriers_left", (0, 11, 12, 13)),
        (VANES, "vane_length", (1540, 1544, 1545.5, 1546, 1547, 1549.9)),
        (STRINGING, "chain", (900, 970, 975, 977, 978, 981)),
        (CHECKING, "width", (1815, 1819, 1820, 1821, 1825)),
    ],
)
def test_the_tablets_verdict_on_a_value_is_the_servers(station, key, values):
    blind, by = at(station)
    names = set()
    for value in values:
        tell(blind, station, route.STEP, by=by, key=key, value=value)
        found = next(each for each in bench.read(blind=blind, station=station).steps if each.step.key == key)
        told, said = told_by_tablet(found.step, value), verdict_on(found)
        assert (told.name, told.words, told.advice) == (said.name, said.words, said.advice), value
        assert told.holds == bool(found.problem), value
        names.add(told.name)
    assert len(names) >= 2


TYPED = (
    """0 12 999 1000 -1 12.0 63.5 63,5 63.50 63.55 0.1 0.05 0.0 10000 10000.1 10001 .5 00012 0063.5 1e3 ٣ abc 12mm"""
)
ODD = ("", " ", " 63 ", "6 3", "lot 7", "x" * 60, "x" * 61)


@pytest.mark.parametrize("kind", [steps.COUNT, steps.MEASURE, steps.NOTE])
@pytest.mark.parametrize("typed", [*TYPED.split(), *ODD])
def test_what_the_tablet_takes_for_a_value_the_server_takes_too(kind, typed):
    step = steps.Step(key="some", kind=kind, text="Some step.", expected=12)
    try:
        record._value_of(step, typed)
        taken = True
    except record.Refused:
        taken = False
    if re.fullmatch(PATTERNS[kind], typed):
        assert taken
    else:
        # What only a program would type may wait for the server's own word.
        assert not taken or typed in {".5", "00012", "1e3", "٣"}


def inputs_of(html):
    """What each form for an event sends, in the order of the page."""
    return [sorted(set(re.findall(r' name="([\w-]+)"', form))) for form in html.split("hx-post")[1:]]


@pytest.mark.parametrize("station", [RAILING, VANES, STRINGING, CHECKING])
def test_what_a_tablet_shows_once_it_starts_alone_is_what_the_server_shows(client, station):
    lines = [{"special_instruction": "Metal chain", "concerns": list(route.STATION)}]
    blind, maker, checker = released(lines=lines)[0], person("maker"), person("checker")
    if station in (STRINGING, CHECKING):
        work(blind, RAILING, by=maker)
    if station == CHECKING:
        work(blind, VANES, by=maker)
        work(blind, STRINGING, by=maker)
    by = checker if station == CHECKING else maker
    client.force_login(by)
    kept = without_event_numbers(sheet_of(client, blind, station).content.decode())
    kept = kept[kept.index('<template id="once-in-hand">') :]
    tell(blind, station, route.START, by=by)
    shown = without_event_numbers(sheet_of(client, blind, station).content.decode())
    for part in ('<div class="signal special-box"', '<div class="bench-steps">', '<div class="bar">'):
        told = shown[shown.index(part) :]
        assert told[: told.index("</form>")] in kept, part
    assert inputs_of(kept) == inputs_of(shown)
    enter_steps(blind, station, by=by)
    assert "once-in-hand" not in sheet_of(client, blind, station).content.decode()


def test_somebody_who_may_only_look_is_given_nothing_to_enter(client):
    client.force_login(person("manager"))
    page = sheet_of(client, released()[0], RAILING).content.decode()
    assert "once-in-hand" not in page
    assert "hx-post" not in page


def test_the_table_of_cords_is_told_to_a_tablet(client):
    blind = released()[0]
    client.force_login(person("maker"))
    answer = client.get(f"/blinds/{blind.code}/cords/").json()
    assert answer["975"]["cut_mm"] == 5618
    assert client.get("/blinds/0000000000/cords/").status_code == 404


@pytest.mark.parametrize(("tape_class", "said"), [("II", "within"), ("III", "doubtful")])
def test_a_measure_is_judged_by_the_tape_that_its_systems_revision_names(tape_class, said):
    """Directive 2014/32/EU, annex MI-008: up to 1 m a tape errs by 0.5 mm at most in class II, by 1 mm in class III."""
    system(constants=replace(DEMO_38, tape_class=tape_class))
    blind, by = at(RAILING)
    # The gap is to be 63 mm, 5.2 mm off at most.
    tell(blind, RAILING, route.STEP, by=by, key="gap", value=67.5)
    gap = next(each for each in bench.read(blind=blind, station=RAILING).steps if each.step.key == "gap")
    assert (gap.step.tape_class, gap.verdict) == (tape_class, said)
