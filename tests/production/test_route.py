"""The way of a blind through the workshop. Common practice, no source."""

import random

import pytest

from production import route
from production.route import CHECKING, PACKING, RAILING, STRINGING, VANES


def through(*happenings, stages=None):
    stages = stages or route.released()
    for kind, station, *back in happenings:
        given = dict(zip(("back_to", "beside"), back, strict=False))
        stages = route.after(stages, kind=kind, station=station, **given)
    return stages


def done_at(*stations, stages=None):
    return through(*[(kind, key) for key in stations for kind in (route.START, route.FINISH)], stages=stages)


def states(stages):
    return {key: stage.state for key, stage in stages.items()}


def test_a_released_blind_waits_at_railing_and_vanes_side_by_side():
    assert states(route.released()) == {
        RAILING: route.WAITING,
        VANES: route.WAITING,
        STRINGING: route.NOT_YET,
        CHECKING: route.NOT_YET,
        PACKING: route.NOT_YET,
    }


@pytest.mark.parametrize(
    "order", [(RAILING, STRINGING, VANES), (VANES, RAILING, STRINGING), (RAILING, VANES, STRINGING)]
)
def test_checking_waits_for_stringing_and_vanes_whichever_comes_last(order):
    stages = done_at(*order[:2])
    assert stages[CHECKING].state == route.NOT_YET
    assert done_at(order[2], stages=stages)[CHECKING].state == route.WAITING


def test_stringing_before_railing_is_refused_with_the_next_step():
    with pytest.raises(route.OutOfOrder, match="railing comes before. Finish railing first"):
        through((route.START, STRINGING))


@pytest.mark.parametrize("kind", [route.PAUSE, route.FINISH, route.STEP, route.SEND_BACK, route.RESUME])
def test_nothing_can_be_done_to_a_blind_that_was_not_started(kind):
    with pytest.raises(route.OutOfOrder):
        through((kind, RAILING, RAILING))


FOUND_AT_CHECKING = {
    "waiting": (),
    "in hand": ((route.START, CHECKING),),
    "paused": ((route.START, CHECKING), (route.PAUSE, CHECKING)),
    "thought done": ((route.START, CHECKING), (route.FINISH, CHECKING)),
}


@pytest.mark.parametrize("before", FOUND_AT_CHECKING.values(), ids=FOUND_AT_CHECKING)
def test_a_fault_is_sent_back_whether_the_blind_waits_is_in_hand_is_paused_or_was_thought_done(before):
    stages = through(*before, (route.SEND_BACK, CHECKING, STRINGING), stages=done_at(RAILING, VANES, STRINGING))
    assert states(stages) == {
        RAILING: route.DONE,
        VANES: route.DONE,
        STRINGING: route.SENT_BACK,
        CHECKING: route.NOT_YET,
        PACKING: route.NOT_YET,
    }


def test_a_fault_found_at_railing_once_the_blind_is_being_strung_takes_it_out_of_that_hand():
    stages = through((route.START, STRINGING), (route.SEND_BACK, RAILING, RAILING), stages=done_at(RAILING))
    assert (stages[RAILING].state, stages[STRINGING].state) == (route.SENT_BACK, route.NOT_YET)


def test_a_blind_that_waits_at_a_station_cannot_be_sent_back_to_it():
    stages = done_at(RAILING)
    assert route.back_from(stages, STRINGING) == [RAILING]
    with pytest.raises(route.OutOfOrder, match="waits at stringing already. Start it there"):
        through((route.SEND_BACK, STRINGING, STRINGING), stages=stages)


def test_a_blind_that_is_not_there_yet_cannot_be_sent_back_from_there():
    assert route.back_from(route.released(), STRINGING) == []
    with pytest.raises(route.OutOfOrder, match="can't be sent back at stringing yet: railing comes before"):
        through((route.SEND_BACK, STRINGING, RAILING))


def test_a_fault_takes_the_vanes_back_with_the_rail_where_both_are_made_anew():
    checked = through((route.START, CHECKING), stages=done_at(RAILING, VANES, STRINGING))
    stages = through((route.SEND_BACK, CHECKING, RAILING, [VANES]), stages=checked)
    assert (stages[RAILING].state, stages[VANES].state) == (route.SENT_BACK, route.SENT_BACK)
    assert (stages[RAILING].attempt, stages[VANES].attempt, stages[CHECKING].attempt) == (2, 2, 2)
    assert done_at(RAILING, STRINGING, stages=stages)[CHECKING].state == route.NOT_YET
    assert done_at(RAILING, STRINGING, VANES, stages=stages)[CHECKING].state == route.WAITING


def test_a_paused_blind_must_be_taken_up_again_before_it_is_finished():
    with pytest.raises(route.OutOfOrder, match="take it up again"):
        through((route.START, RAILING), (route.PAUSE, RAILING), (route.FINISH, RAILING))


def test_a_fault_sent_back_to_railing_has_stringing_and_checking_done_again_but_not_the_vanes():
    stages = through(
        (route.START, CHECKING), (route.SEND_BACK, CHECKING, RAILING), stages=done_at(RAILING, VANES, STRINGING)
    )
    assert states(stages) == {
        RAILING: route.SENT_BACK,
        VANES: route.DONE,
        STRINGING: route.NOT_YET,
        CHECKING: route.NOT_YET,
        PACKING: route.NOT_YET,
    }
    assert {key: stage.attempt for key, stage in stages.items()} == {
        RAILING: 2,
        VANES: 1,
        STRINGING: 2,
        CHECKING: 2,
        PACKING: 1,
    }
    assert done_at(RAILING, STRINGING, stages=stages)[CHECKING].state == route.WAITING


def test_a_fault_cannot_go_forward():
    with pytest.raises(route.OutOfOrder, match="came before"):
        through((route.START, RAILING), (route.SEND_BACK, RAILING, STRINGING))


def test_a_fault_at_vanes_cannot_go_back_to_railing_beside_it():
    with pytest.raises(route.OutOfOrder, match="came before"):
        through((route.START, VANES), (route.SEND_BACK, VANES, RAILING))


@pytest.mark.parametrize("seed", range(50))
def test_a_blind_is_never_at_a_station_before_everything_ahead_of_it_is_done(seed):
    pick = random.Random(seed)
    stages = route.released()
    for _ in range(120):
        kind, station = pick.choice(route.AT_A_STATION), pick.choice(list(route.STATION))
        try:
            back = {"back_to": pick.choice(list(route.STATION)), "beside": pick.choice([(), (VANES,)])}
            stages = route.after(stages, kind=kind, station=station, **back)
        except route.OutOfOrder:
            continue
        for place in route.STATIONS:
            if stages[place.key].state != route.NOT_YET:
                assert all(stages[key].state == route.DONE for key in place.after)


OFFICE = (route.ASK, route.KEEP, route.AMEND)


def anything(pick):
    """One thing that may happen to a blind, by the office or at a station, whether it can happen now or not."""
    kind = pick.choice((*route.AT_A_STATION, *route.AT_A_STATION, *OFFICE, route.TAKE_OFF))
    if kind in route.BY_THE_OFFICE:
        return {"kind": kind, "again": pick.sample(list(route.STATION), pick.randint(0, 3))}
    back = {"back_to": pick.choice(list(route.STATION)), "beside": pick.choice([(), (VANES,)])}
    return {"kind": kind, "station": pick.choice(list(route.STATION)), **back}


@pytest.mark.parametrize("seed", range(50))
def test_whatever_is_changed_a_blind_is_nowhere_before_its_time_and_the_log_proves_where(seed):
    pick = random.Random(seed)
    stages, log = route.released(), []
    for _ in range(160):
        happening = anything(pick)
        if happening["kind"] == route.TAKE_OFF and pick.random() < 0.97:
            continue
        try:
            now = route.after(stages, **happening)
        except route.OutOfOrder:
            continue
        log.append(happening)
        attempts = {key: (now[key].attempt, stages[key].attempt) for key in route.STATION}
        assert all(after >= before for after, before in attempts.values())
        if happening["kind"] == route.AMEND:
            assert all(now[key].state not in route.BEGUN for key in happening["again"])
        stages = now
        for place in route.STATIONS:
            if stages[place.key].state not in (route.NOT_YET, route.OFF):
                assert all(stages[key].state == route.DONE for key in place.after)
    replayed = route.released()
    for happening in log:
        replayed = route.after(replayed, **happening)
    assert replayed == stages


def test_a_change_voids_what_is_begun_where_it_no_longer_fits_and_all_that_follows():
    stages = through((route.START, CHECKING), stages=done_at(RAILING, VANES, STRINGING))
    changed = route.after(stages, kind=route.AMEND, again=[VANES])
    assert states(changed) == {
        RAILING: route.DONE,
        VANES: route.SENT_BACK,
        STRINGING: route.DONE,
        CHECKING: route.NOT_YET,
        PACKING: route.NOT_YET,
    }
    assert {key: stage.attempt for key, stage in changed.items()} == {
        RAILING: 1,
        VANES: 2,
        STRINGING: 1,
        CHECKING: 2,
        PACKING: 1,
    }


def test_a_change_leaves_what_nobody_has_begun_where_it_is():
    assert route.after(route.released(), kind=route.AMEND, again=list(route.STATION)) == route.released()


@pytest.mark.parametrize("kind", [route.AMEND, route.TAKE_OFF])
def test_a_packed_blind_is_neither_changed_nor_taken_off(kind):
    stages = done_at(RAILING, VANES, STRINGING, CHECKING, PACKING)
    with pytest.raises(route.OutOfOrder, match="is packed. Enter a new order for the change"):
        route.after(stages, kind=kind)


def test_a_blind_taken_off_is_at_no_station_and_comes_back_to_none():
    stages = route.after(done_at(RAILING), kind=route.TAKE_OFF)
    assert set(states(stages).values()) == {route.OFF}
    assert all(route.back_from(stages, key) == [] for key in route.STATION)
    for kind in route.AT_A_STATION:
        with pytest.raises(route.OutOfOrder, match="It was taken off its order; put its parts aside"):
            route.after(stages, kind=kind, station=STRINGING, back_to=RAILING)
    for kind in (route.AMEND, route.TAKE_OFF):
        with pytest.raises(route.OutOfOrder, match="was taken off its order before"):
            route.after(stages, kind=kind)
