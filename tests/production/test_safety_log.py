"""The independent reading of a blind's events, held against logs written by hand."""

import pytest

from tests.production import safety_log
from tests.production.safety_log import Entry, faults_of_packed

pytestmark = pytest.mark.once
ROLES = {"mara": {"maker"}, "ines": {"checker"}, "dana": {"maker", "checker"}, "ruben": {"manager"}}
MADE = [Entry("mara", "step", "stringing", {"key": key, "value": True}) for key in safety_log.WANTED["stringing"]]
SEEN = [Entry("ines", "step", "checking", {"key": key, "value": True}) for key in safety_log.WANTED["checking"]]
PUT_IN = [Entry("mara", "step", "packing", {"key": key, "value": True}) for key in safety_log.WANTED["packing"]]


def done(who, station):
    return Entry(who, "finish", station, {})


def whole(*, made=MADE, seen=SEEN, put_in=PUT_IN):
    stringing, checking, packing = done("mara", "stringing"), done("ines", "checking"), done("mara", "packing")
    return [*made, stringing, *seen, checking, *put_in, packing]


def test_the_reading_finds_nothing_amiss_in_a_blind_made_by_the_rule():
    assert faults_of_packed(whole(), roles=ROLES) == []


@pytest.mark.parametrize("part", ["made", "seen", "put_in"])
@pytest.mark.parametrize("place", [0, 1])
def test_the_reading_misses_each_confirmation_that_was_left_out(part, place):
    given = {"made": MADE, "seen": SEEN, "put_in": PUT_IN}[part]
    left = [each for each in given if each is not given[place]]
    (fault,) = faults_of_packed(whole(**{part: left}), roles=ROLES)
    assert fault.startswith(f"{given[place].data['key']} was not confirmed")


def test_the_reading_wants_a_second_pair_of_eyes():
    railed = Entry("dana", "start", "railing", {})
    seen = [each._replace(who="dana") for each in SEEN]
    assert len(faults_of_packed([railed, *whole(seen=seen)], roles=ROLES)) == 3


def test_the_reading_takes_what_came_before_a_fault_for_void():
    back = Entry("ines", "send_back", "checking", {"back_to": "vanes", "fault": "other"})
    # Vanes stand beside stringing: what was confirmed there holds, what was seen at checking does not.
    log = [*MADE, done("mara", "stringing"), *SEEN, back, done("ines", "checking"), *PUT_IN, done("mara", "packing")]
    assert {fault.split()[0] for fault in faults_of_packed(log, roles=ROLES)} == set(safety_log.WANTED["checking"])


@pytest.mark.parametrize(("given", "void"), [({"fabric": "slate"}, True), ({"room": "Study"}, False)])
def test_the_reading_takes_what_was_confirmed_of_the_blind_before_a_change_for_void(given, void):
    before = {"spec": {}, "components": {}, "fabric": "chalk", "room": "Hall"}
    changed = Entry("ruben", "amend", "", {"before": before, "after": {**before, **given}})
    whole_log = whole()
    log = [*whole_log[: len(MADE) + 1], changed, *whole_log[len(MADE) + 1 :]]
    assert {fault.split()[0] for fault in faults_of_packed(log, roles=ROLES)} == (
        set(safety_log.WANTED["stringing"]) if void else set()
    )
