"""A checker passes no blind before everything is counted and measured, and nothing counted or measured is wrong."""

import pytest

from production import bench, route, steps
from production.record import Refused
from production.route import CHECKING, RAILING, STRINGING
from tests.factories import enter_steps, make, released, tell, work

pytestmark = pytest.mark.django_db

KINDS = {
    f"{draw}, {hand}, {name}": {"draw": draw, "hand": hand, **operation}
    for draw in ("one_way", "reverse", "split")
    for hand in ("left", "right")
    for name, operation in {
        "tensioner": {},
        "breakaway": {"loop_control": "breakaway", "installation_height_mm": 2400},
        "wand": {"operation": "wand"},
    }.items()
    if (draw, name) != ("reverse", "wand")  # a wand blind has no controls to gather away from
}


def in_the_checkers_hand(changes, *, maker, checker):
    blind = released(lines=[changes])[0]
    make(blind, maker=maker, checker=checker, until=STRINGING)
    tell(blind, CHECKING, route.START, by=checker)
    return blind


def wanted(blind, *kinds):
    return [found.step for found in bench.read(blind=blind, station=CHECKING).steps if found.step.kind in kinds]


def problems_of(blind, *, checker):
    """Why the checker can't pass the blind."""
    with pytest.raises(Refused) as refused:
        tell(blind, CHECKING, route.FINISH, by=checker)
    return refused.value.problems


def measure(blind, step, value, *, checker):
    tell(blind, CHECKING, route.STEP, by=checker, key=step.key, value=value)


@pytest.mark.parametrize("changes", KINDS.values(), ids=KINDS)
def test_a_blind_passes_only_once_everything_is_measured_and_nothing_is_outside(changes, maker, checker):
    blind = in_the_checkers_hand(changes, maker=maker, checker=checker)
    measures, counts = wanted(blind, steps.MEASURE), wanted(blind, steps.COUNT)
    looped = blind.spec["operation"] == "cord_chain"
    assert [step.key for step in measures] == ["width", "drop", *(["loop"] if looped else [])]
    assert [step.key for step in counts] == ["carrier_count"]

    todo = [step.key for step in (*measures, *counts)]
    enter_steps(blind, CHECKING, by=checker, but=todo)
    said = problems_of(blind, checker=checker)
    assert sorted(said) == sorted(
        [f"Not measured yet: {step}" for step in measures] + [f"Not counted yet: {step}" for step in counts]
    )

    for step in counts:
        measure(blind, step, step.expected + 1, checker=checker)
    for step in measures:
        measure(blind, step, too_long(step), checker=checker)
    said = problems_of(blind, checker=checker)
    for step in measures:
        figures = f"Measured {too_long(step)} mm where the ticket says {step.expected} mm ±{step.tolerance_mm} mm."
        assert any(each.startswith(figures) and each.endswith(str(step)) for each in said), (step.key, said)
    counted = f"Counted {counts[0].expected + 1} where the ticket says {counts[0].expected}."
    assert any(each.startswith(counted) for each in said)
    assert len(said) == len(todo)

    # Put right one by one, it passes with the last.
    for number, step in enumerate((*measures, *counts), start=1):
        measure(blind, step, step.expected, checker=checker)
        if number < len(todo):
            assert len(problems_of(blind, checker=checker)) == len(todo) - number
    tell(blind, CHECKING, route.FINISH, by=checker)
    assert blind.stages.get(station=CHECKING).state == route.DONE


def too_long(step):
    """A length beyond the tolerance by more than any tape errs over it: 3 m by a class II tape is 1.1 mm at most."""
    return step.expected + step.tolerance_mm + 3


@pytest.mark.parametrize("key", ["width", "drop", "loop"])
@pytest.mark.parametrize("side", [-1, 1])
def test_one_length_outside_on_either_side_is_enough_to_stop_a_blind(maker, checker, key, side):
    blind = in_the_checkers_hand({}, maker=maker, checker=checker)
    step = next(step for step in wanted(blind, steps.MEASURE) if step.key == key)
    enter_steps(blind, CHECKING, by=checker, **{key: step.expected + side * (step.tolerance_mm + 3)})
    (said,) = problems_of(blind, checker=checker)
    assert "Put it right and measure again" in said


def test_the_loop_is_held_to_the_chain_as_it_was_measured_at_stringing(maker, checker):
    # Nominal 978, measured 973: a loop that hangs 978 now isn't the one that was strung (class v, 4 mm; tape 0.5 mm).
    blind = released()[0]
    work(blind, RAILING, by=maker)
    work(blind, STRINGING, by=maker, chain=973)
    work(blind, route.VANES, by=maker)
    tell(blind, CHECKING, route.START, by=checker)
    enter_steps(blind, CHECKING, by=checker, loop=978)
    (said,) = problems_of(blind, checker=checker)
    assert "Measured 978 mm where the ticket says 973 mm" in said


def test_what_was_measured_before_a_fault_is_measured_again(maker, checker):
    blind = in_the_checkers_hand({}, maker=maker, checker=checker)
    enter_steps(blind, CHECKING, by=checker)
    tell(blind, CHECKING, route.SEND_BACK, by=checker, back_to=STRINGING, fault="stiff")
    work(blind, STRINGING, by=maker)
    tell(blind, CHECKING, route.START, by=checker)
    said = problems_of(blind, checker=checker)
    assert {f"Not measured yet: {step}" for step in wanted(blind, steps.MEASURE)} <= set(said)
