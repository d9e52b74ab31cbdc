"""What of a blind is made, and what a change makes useless. Common practice, no source; counts are the blind's own."""

import pytest

from calc.components import components
from calc.system import DEMO_38
from production import refit, route, scrap, steps
from production.route import CHECKING, PACKING, RAILING, STRINGING, VANES
from tests.headrails import SPLIT_1830

SPEC = {
    **SPLIT_1830,
    "control_drop_mm": None,
    "measured_chain_mm": None,
    "installation_height_mm": None,
    "fixing": "top",
    "bottom": "chain",
}
WAND = {"operation": "wand", "loop_control": None, "chain": None}


def version(*, fabric="Linden chalk", special_instruction="", **given):
    spec = {**SPEC, **given}
    return {
        "spec": spec,
        "components": components(spec, systems={DEMO_38.code: DEMO_38}),
        "fabric": fabric,
        "room": "Kitchen",
        "special_instruction": special_instruction,
        "concerns": list(route.STATION),
    }


PLAIN = version()
COUNTS = {part.key: part.has(PLAIN["spec"], PLAIN["components"]) for part in scrap.PARTS}


def finished(*stations):
    return [(route.FINISH, key, {}) for key in stations]


def entered(station, key):
    return (route.STEP, station, {"key": key, "value": True})


def states(**given):
    return {key: route.StageState(given.get(key, route.NOT_YET)) for key in route.STATION}


def void(before, after, **standing):
    return refit.again(states=states(**standing), before=before, after=after, tape_classes=("II", "II"))


KINDS = [
    {"draw": draw, **control}
    for draw in ("one_way", "reverse", "split")
    for control in (WAND, *({"loop_control": device} for device in ("tensioner", "breakaway", "weight")))
    # A wand blind that gathers away from the wand is refused.
    if (draw, control) != ("reverse", WAND)
]


@pytest.mark.parametrize("given", KINDS, ids=str)
def test_the_steps_that_show_what_is_made_are_those_of_the_station_in_their_order(given):
    found = version(**given)
    for station in (RAILING, VANES, STRINGING, PACKING):
        real = steps.steps_for(station=station, spec=found["spec"], components=found["components"])
        listed = [key for key, _ in refit.MADE_BY[station]]
        assert {step.key for step in real if step.must} <= set(listed), station
        in_order = [step.key for step in real if step.key in listed]
        assert in_order == sorted(in_order, key=listed.index), station


def test_every_part_but_the_whole_headrail_comes_of_a_step_where_it_is_made():
    made_at = {part: station for station, rows in refit.MADE_BY.items() for _, parts in rows for part in parts}
    assert made_at == {part.key: part.made_at for part in scrap.PARTS if part.key != "headrail"}


def test_a_finished_station_has_made_all_its_parts():
    made = refit.made(events=finished(RAILING, VANES), version=PLAIN)
    wanted = {part.key for part in scrap.PARTS if part.made_at in (RAILING, VANES) and COUNTS[part.key]} - {"headrail"}
    assert made == {key: COUNTS[key] for key in wanted}


def test_a_step_shows_what_was_made_up_to_it_and_nothing_more():
    assert refit.made(events=[entered(VANES, "dye_lot")], version=PLAIN) == {}
    assert refit.made(events=[entered(RAILING, "special_instruction")], version=PLAIN) == {}
    assert list(refit.made(events=[entered(RAILING, "tubes")], version=PLAIN)) == ["rail", "tilt_rod", "tubes"]
    assert list(refit.made(events=[entered(VANES, "vane_length")], version=PLAIN)) == ["vanes"]


def test_what_was_scrapped_is_there_no_more_until_it_is_made_again():
    back = (route.SEND_BACK, CHECKING, {"back_to": RAILING, "scrapped": [{"part": "rail", "count": 1}]})
    log = [*finished(RAILING), back]
    assert "rail" not in refit.made(events=log, version=PLAIN)
    assert refit.made(events=[*log, *finished(RAILING)], version=PLAIN)["rail"] == 1
    some = (route.SEND_BACK, CHECKING, {"back_to": VANES, "scrapped": [{"part": "vanes", "count": 2}]})
    assert refit.made(events=[*finished(VANES), some], version=PLAIN)["vanes"] == COUNTS["vanes"] - 2
    whole = (route.SEND_BACK, CHECKING, {"back_to": RAILING, "scrapped": [{"part": "headrail", "count": 1}]})
    assert refit.made(events=[*finished(RAILING), whole], version=PLAIN) == {}


EVERYTHING = refit.made(events=finished(RAILING, VANES, STRINGING), version=PLAIN)
LOST = {
    # Two vanes fewer of the same cut; the cord goes along the rail.
    "another width": ({"width_mm": 1700}, {"rail": 1, "tilt_rod": 1, "cord": 1, "vanes": 2}),
    # The chain of a short blind is shorter, and the cord follows it.
    "another drop": ({"drop_mm": 900}, {"cord": 1, "chain": 1, "vanes": 24}),
    "another fabric": ({"fabric": "Linden slate"}, {"vanes": 24}),
    "another hand": ({"hand": "right"}, {}),
    "another fixing": ({"fixing": "face"}, {}),
    "plastic chain": ({"chain": "plastic"}, {"chain": 1}),
    "a wand": (WAND, {"cord": 1, "chain": 1}),
}


@pytest.mark.parametrize(("given", "lost"), LOST.values(), ids=LOST)
def test_what_is_cut_to_measure_is_lost_where_another_measure_is_wanted(given, lost):
    found = refit.useless(made=EVERYTHING, before=PLAIN, after=version(**given))
    assert {each["part"]: each["count"] for each in found} == lost


def test_nothing_is_lost_of_what_is_not_made():
    assert refit.useless(made={}, before=PLAIN, after=version(width_mm=1700, drop_mm=1500)) == []


DONE = {RAILING: route.DONE, VANES: route.DONE, STRINGING: route.DONE, CHECKING: route.IN_HAND}


def test_another_width_undoes_all_that_is_begun_and_nothing_that_is_not():
    after = version(width_mm=1700)
    assert void(PLAIN, after, **DONE) == [RAILING, VANES, STRINGING, CHECKING]
    assert void(PLAIN, after, **{RAILING: route.IN_HAND, VANES: route.WAITING}) == [RAILING]
    assert void(PLAIN, after, **{RAILING: route.WAITING, VANES: route.SENT_BACK}) == []


def test_another_fabric_leaves_the_rail_alone_and_asks_the_safety_of_the_loop_anew():
    after = version(fabric="Linden slate")
    assert void(PLAIN, after, **DONE) == [VANES, STRINGING, CHECKING]
    assert void(version(**WAND), version(fabric="Linden slate", **WAND), **DONE) == [VANES, CHECKING]


def test_another_room_undoes_nothing():
    assert void(PLAIN, {**PLAIN, "room": "Study"}, **DONE) == []


def test_a_special_instruction_is_put_before_whoever_has_begun():
    after = {**version(special_instruction="Short screws."), "concerns": [VANES]}
    assert void({**PLAIN, "concerns": [VANES]}, after, **DONE) == [VANES]


def test_a_blind_taken_off_loses_what_is_cut_to_measure():
    lost = {each["part"] for each in refit.lost_with_the_blind(made=EVERYTHING)}
    assert lost == {"rail", "tilt_rod", "tubes", "cord", "chain", "vanes"}
