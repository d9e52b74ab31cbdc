"""What of a blind is scrapped: no more than it has, from a station where it is on it, made anew where it is made."""

import itertools

import pytest

from materials.parts import parts as off_the_shelf
from production import bench, history, route, scrap
from production.models import StationEvent
from production.record import Refused
from production.route import CHECKING, PACKING, RAILING, STRINGING, VANES
from tests import factories
from tests.factories import make, released, tell, work

pytestmark = pytest.mark.django_db

WAND = {"operation": "wand"}


def fault(blind, station, *, by, back_to=RAILING, **scrapped):
    entered = [{"part": part, "count": count} for part, count in scrapped.items()]
    return tell(blind, station, route.SEND_BACK, by=by, back_to=back_to, fault="other", scrapped=entered)


def limits(blind, station):
    found = scrap.parts_at(station=station, spec=blind.spec, components=blind.components)
    return {part.key: limit for part, limit in found}


def states(blind):
    return {stage.station: stage.state for stage in blind.stages.all()}


@pytest.mark.parametrize(
    "changes",
    [
        {"draw": draw, "hand": hand, **operation}
        for draw, hand, operation in itertools.product(
            ["one_way", "reverse", "split"], ["left", "right"], [{}, {"loop_control": "breakaway"}, WAND]
        )
        if (draw, operation) != ("reverse", WAND)
    ],
    ids=str,
)
def test_a_blind_has_as_many_of_a_part_to_scrap_as_it_takes_off_the_shelf(changes):
    blind = released(lines=[{"installation_height_mm": 2400, **changes}])[0]
    shelf = {}
    for part, count in off_the_shelf(spec=blind.spec, components=blind.components).items():
        name = f"{part.detail.split(',')[0]} carriers" if "carrier" in part.name else part.name
        shelf[name] = shelf.get(name, 0) + (count if part.unit == "pieces" else 1)
    same = {
        "rail": "headrail",
        "tilt_rod": "tilt rod",
        "control_end": "control end set",
        "idle_end": "idle end set",
        "left_carriers": "left carriers",
        "right_carriers": "right carriers",
        "tubes": "spacer tube",
        "end_covers": "end cover",
        "cord": "cord",
        "chain": "ball chain",
        "tensioner": "tensioner",
        "breakaway": "breakaway joint",
        "loop_weight": "loop weight",
        "tags": "warning tag",
        "wands": "wand",
        "bottom_weights": "bottom weight",
        "brackets": "bracket",
    }
    wanted = {key: shelf[name] for key, name in same.items() if name in shelf}
    assert limits(blind, PACKING) == {"headrail": 1, "vanes": blind.components["vanes"]["count"], **wanted}


def test_each_station_offers_what_is_on_the_blind_by_then():
    blind = released()[0]
    assert list(limits(blind, RAILING)) == [
        "headrail",
        "rail",
        "tilt_rod",
        "control_end",
        "idle_end",
        "left_carriers",
        "right_carriers",
        "tubes",
    ]
    assert list(limits(blind, VANES)) == ["vanes", "bottom_weights"]
    assert {"cord", "chain", "tensioner", "tags"} <= set(limits(blind, STRINGING))
    assert "vanes" not in limits(blind, STRINGING)
    assert {"vanes", "rail"} <= set(limits(blind, CHECKING))


def test_what_is_scrapped_is_recorded_as_parts_and_counts(at_checking, checker):
    event = fault(at_checking, CHECKING, by=checker, rail="1", left_carriers=" 3 ", right_carriers="0")
    assert event.data["scrapped"] == [{"part": "rail", "count": 1}, {"part": "left_carriers", "count": 3}]
    assert scrap.words(event.data["scrapped"]) == "1 × rail, 3 × left carriers"


@pytest.mark.parametrize("typed", ["13", "-1", "1.5", "two", "٣", "9" * 40])
def test_more_than_the_blind_has_is_refused_with_what_was_typed_and_what_it_has(at_checking, checker, typed):
    with pytest.raises(Refused) as refused:
        fault(at_checking, CHECKING, by=checker, left_carriers=typed)
    assert refused.value.problems == [
        f"Left carriers: “{typed[:12]}” can't be scrapped, since this blind has 12. Type 0 to 12."
    ]
    assert states(at_checking)[CHECKING] == route.IN_HAND


def test_every_wrong_entry_is_said_at_once(at_checking, checker):
    with pytest.raises(Refused) as refused:
        fault(at_checking, CHECKING, by=checker, rail="2", wands="1", keel="1")
    first, second, third = refused.value.problems
    assert first.startswith("Rail: “2” can't be scrapped, since this blind has 1.")
    assert second.startswith("Wands: this blind has none here. It has: whole headrail, rail, tilt rod,")
    assert third.startswith("keel: this blind has none here.")


def test_a_part_that_is_not_on_the_blind_yet_is_refused(maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    with pytest.raises(Refused, match="Cord: this blind has none here"):
        fault(blind, RAILING, by=maker, cord="1")


def test_the_whole_headrail_and_a_part_of_it_are_not_scrapped_twice(at_checking, checker):
    with pytest.raises(Refused, match="Tilt rod: the whole headrail has it already. Enter one of the two."):
        fault(at_checking, CHECKING, by=checker, headrail="1", tilt_rod="1")


def test_what_is_scrapped_goes_back_to_where_it_is_made(at_checking, checker):
    with pytest.raises(Refused) as refused:
        fault(at_checking, CHECKING, by=checker, back_to=STRINGING, rail="1", cord="1")
    assert refused.value.problems == [
        "Rail: made at railing, and stringing comes after. Send the blind back to railing."
    ]
    fault(at_checking, CHECKING, by=checker, back_to=STRINGING, cord="1")
    assert states(at_checking)[STRINGING] == route.SENT_BACK


def test_vanes_scrapped_with_a_rail_are_made_anew_too(at_checking, checker, maker):
    event = fault(at_checking, CHECKING, by=checker, rail="1", vanes="2")
    assert event.back_to == (RAILING, VANES)
    assert states(at_checking) == {
        RAILING: route.SENT_BACK,
        VANES: route.SENT_BACK,
        STRINGING: route.NOT_YET,
        CHECKING: route.NOT_YET,
        PACKING: route.NOT_YET,
    }
    stored = {each.station: route.StageState(each.state, each.attempt) for each in at_checking.stages.all()}
    assert factories.replayed(at_checking) == stored
    told = history.told(event, {}, {"other": "Something else"})
    assert told["words"] == "Checking sent it back to railing and vanes: something else"
    work(at_checking, VANES, by=maker)
    assert bench.stages_of(at_checking)[CHECKING].state == route.NOT_YET


def test_what_was_once_written_down_in_words_is_told_as_it_was_written():
    event = StationEvent(
        kind=route.SEND_BACK,
        station=CHECKING,
        data={"back_to": RAILING, "fault": "stiff", "note": "Bent.", "scrapped": "1 rail, 2 m of cord"},
    )
    told = history.told(event, {}, {"stiff": "Stiff"})
    assert told == {
        "words": "Checking sent it back to railing: stiff",
        "detail": "Bent. Scrapped: 1 rail, 2 m of cord",
    }


@pytest.mark.parametrize("state", [route.WAITING, route.PAUSED, route.DONE])
def test_a_fault_is_sent_back_from_a_blind_that_is_not_in_hand(maker, checker, state):
    blind = released()[0]
    make(blind, maker=maker, checker=checker, until=CHECKING if state == route.DONE else STRINGING)
    if state == route.PAUSED:
        tell(blind, CHECKING, route.START, by=checker)
        tell(blind, CHECKING, route.PAUSE, by=checker)
    fault(blind, CHECKING, by=checker, back_to=STRINGING, cord="1")
    assert states(blind)[STRINGING] == route.SENT_BACK
    assert states(blind)[PACKING] == route.NOT_YET
