"""A hardware system keeps its numbers exactly, and says what is broken in it."""

import json
from dataclasses import fields, replace
from fractions import Fraction

import pytest
from hypothesis import given, settings

from calc.components import OUTLINE, components, outline
from calc.rounding import exact, exact_text, json_number
from calc.system import DEMO_38, SYSTEMS, System, breaches
from tests.calc.strategies import systems
from tests.calc.usual_blind import BLIND


def with_parts(vane, **changes):
    return replace(DEMO_38, **{vane: replace(getattr(DEMO_38, vane), **changes)})


def test_the_demo_system_is_sound():
    assert breaches(DEMO_38) == []
    assert {"demo-38": DEMO_38} == SYSTEMS


@given(systems())
@settings(max_examples=100, deadline=None)
def test_a_system_comes_back_from_json_exactly(constants):
    system = System.from_dict(json.loads(json.dumps(constants)))
    assert System.from_dict(json.loads(json.dumps(system.to_dict()))) == system
    assert system.to_dict() == System.from_dict(system.to_dict()).to_dict()


def test_the_demo_system_comes_back_from_json_with_its_fractions():
    back = System.from_dict(json.loads(json.dumps(DEMO_38.to_dict())))
    assert back == DEMO_38
    assert back.rail_kg_per_m == Fraction(52, 100)
    assert back.link_tolerance_mm == Fraction(15, 100)


def test_no_constant_is_a_float():
    def numbers(record):
        for one in fields(record):
            value = getattr(record, one.name)
            yield from numbers(value) if hasattr(value, "__dataclass_fields__") else [value]

    read = System.from_dict(DEMO_38.to_dict() | {"rail_kg_per_m": 0.52, "control_share": 0.75})
    assert read == DEMO_38
    assert not any(isinstance(value, float) for value in numbers(read))


def test_what_is_missing_unknown_or_unreadable_in_a_system_is_named_all_at_once():
    constants = DEMO_38.to_dict() | {"colour": "white", "end_cover_mm": "three", "vane_89": {"link_pitch_mm": 80}}
    del constants["ball_pitch_mm"]
    with pytest.raises(ValueError, match="ball_pitch_mm is missing") as refused:
        System.from_dict(constants)
    assert "colour is no constant of a system" in str(refused.value)
    assert "end_cover_mm: 'three' is not a number" in str(refused.value)
    assert "vane_89.bottom_weight_g is missing" in str(refused.value)


@pytest.mark.parametrize("value", [True, None, [], float("nan"), float("inf"), "1/0"])
def test_a_constant_that_is_no_number_is_refused(value):
    with pytest.raises(ValueError, match="end_cover_mm"):
        System.from_dict(DEMO_38.to_dict() | {"end_cover_mm": value})


def test_a_revision_is_a_whole_number():
    with pytest.raises(ValueError, match="revision: 1.5 is no whole number"):
        System.from_dict(DEMO_38.to_dict() | {"revision": 1.5})


def test_an_outermost_vane_that_fouls_the_reveal_is_a_breach_that_names_the_constants_and_by_how_much():
    # 89: half of it and 3 are 47.5. Lead end, one way: 20 + 20 + 10.5 = 50.5; with a tube of 16.9 it is 47.4.
    (breach,) = breaches(with_parts("vane_89", lead_tube_one_way_mm=Fraction(169, 10)))
    assert "89 mm vanes, one way, lead end" in breach
    assert "idle_inset_mm 20 + lead_tube_one_way_mm 16.9 + lead_body_mm 21 / 2 = 47.4 mm" in breach
    assert "0.1 mm less than the 47.5 mm" in breach


def test_an_outermost_vane_that_just_clears_the_reveal_is_none():
    assert breaches(with_parts("vane_89", lead_tube_one_way_mm=17)) == []


@pytest.mark.parametrize(
    ("vane", "tube", "just_enough_mm"),
    [
        # vane width / 2 + 3, less the inset and half the body: 47.5 or 66.5, 27 or 20, 6.5 or 10.5.
        ("vane_89", "anchored_tube_one_way_mm", 21),  # a wand blind's idle end set at its anchored end: 47.5 - 20 - 6.5
        ("vane_89", "anchored_tube_reverse_mm", 21),
        ("vane_89", "anchored_tube_split_mm", 21),
        ("vane_89", "lead_tube_one_way_mm", 17),
        ("vane_89", "lead_tube_reverse_mm", 10),
        ("vane_127", "anchored_tube_one_way_mm", 40),
        ("vane_127", "anchored_tube_reverse_mm", 40),
        ("vane_127", "anchored_tube_split_mm", 40),
        ("vane_127", "lead_tube_one_way_mm", 36),
        ("vane_127", "lead_tube_reverse_mm", 29),
    ],
)
def test_every_tube_has_its_shortest_length(vane, tube, just_enough_mm):
    assert breaches(with_parts(vane, **{tube: just_enough_mm})) == []
    found = breaches(with_parts(vane, **{tube: just_enough_mm - Fraction(1, 10)}))
    assert found
    assert all(tube in breach and "0.1 mm less" in breach for breach in found)


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"min_width_mm": 6000}, "min_width_mm is 200 mm more than max_width_mm"),
        ({"min_drop_mm": 4100}, "min_drop_mm is 100 mm more than max_drop_mm"),
        ({"drop_loss_mm": 300}, "leaves no vane"),
        ({"control_share": 0}, "a share is above 0"),
        ({"wand_share": Fraction(11, 10)}, "a share is above 0 and at most 1"),
        ({"wands_mm": ()}, "wands_mm is empty"),
        ({"wands_mm": (750, 500)}, "shortest first"),
        ({"wand_share": Fraction(2, 3)}, "wand_share is 2/3; give it with at most 4 decimal places"),
        ({"wands_mm": (500, Fraction(2000, 3))}, "wands_mm is 2000/3"),
        ({"ball_pitch_mm": 0}, "ball_pitch_mm is 0"),
        ({"end_cover_mm": -1}, "end_cover_mm is -1"),
        ({"rail_class": "x"}, "ISO 2768-1 has the classes"),
        ({"rail_class": "f"}, "above_4000_f_mm is not given"),
        ({"tape_class": "IV"}, "I, II, III"),
        ({"lead_body_mm": 90}, "leaves the middle pair no overlap"),
        ({"min_width_mm": 100}, "raise min_width_mm"),
        ({"rod_shortfall_mm": 344}, "leave a tilt rod of 0 mm"),
    ],
)
def test_a_broken_constant_is_a_breach_that_says_what_is_wrong(changes, says):
    found = breaches(replace(DEMO_38, **changes))
    assert any(says in breach for breach in found), found


def test_a_link_as_long_as_the_vane_is_wide_leaves_no_overlap():
    (breach,) = breaches(with_parts("vane_89", link_pitch_mm=89))
    assert "closed vanes must overlap" in breach


def test_a_link_too_short_for_its_carriers_is_a_breach():
    # Just past a step of the count a split blind's gap is the pitch less two carrier bodies and a lead body: 47 of 47.
    # The next width in tenths is 0.1 past it. The narrowest blind has three a side, so a bunch of two never matters.
    assert breaches(with_parts("vane_89", link_pitch_mm=47)) == []
    found = breaches(with_parts("vane_89", link_pitch_mm=Fraction(469, 10)))
    assert found
    assert all("split" in breach and "comes to 0 mm" in breach and "shows no gap" in breach for breach in found)


def test_a_bunch_of_two_needs_a_longer_link_than_a_bunch_of_three():
    # A carrier body and two lead bodies are 13 + 42 = 55; a split blind of 176 has a span of 176 - 110 = 66.
    narrow = replace(DEMO_38, min_width_mm=165)
    at_55 = replace(narrow, vane_89=replace(narrow.vane_89, link_pitch_mm=55))
    assert not [breach for breach in breaches(at_55) if "89 mm vanes, split" in breach and "no gap" in breach]
    at_54 = replace(narrow, vane_89=replace(narrow.vane_89, link_pitch_mm=54))
    assert [breach for breach in breaches(at_54) if "89 mm vanes, split:" in breach and "no gap" in breach]


def test_a_blind_too_narrow_for_its_bunches_is_refused_even_by_a_broken_system():
    broken = replace(DEMO_38, min_width_mm=1)
    for draw in ("one_way", "split"):
        answer = components(BLIND | {"width_mm": 120, "draw": draw}, systems={"demo-38": broken})
        codes = {finding["code"] for finding in answer["findings"] if finding["severity"] == "refuse"}
        expected = {"out_of_range"} if draw == "split" else set()
        assert codes == expected
    answer = components(BLIND | {"width_mm": 100}, systems={"demo-38": broken})
    assert answer["carriers"] is None
    assert answer["finished_width_mm"] == 100
    # Whoever judges many blinds at once must hear of it too.
    assert outline(BLIND | {"width_mm": 100}, systems={"demo-38": broken}) == {key: answer[key] for key in OUTLINE}


def test_every_constant_says_what_it_means():
    for one in fields(System):
        assert System.__annotations__[one.name].__metadata__[0]


@pytest.mark.parametrize(
    ("number", "printed"),
    [
        (Fraction(1, 3), 0.3333),
        (Fraction(2, 3), 0.6667),
        (Fraction(-2, 3), -0.6667),
        (Fraction(5, 100000), 0.0001),
        (Fraction(-5, 100000), -0.0001),
        (Fraction(4, 100000), 0),
        (Fraction(99995, 100000), 1),
        (Fraction(12, 4), 3),
        (Fraction(0), 0),
        (-20, -20),
    ],
)
def test_numbers_leave_rounded_to_four_places_half_away_from_zero(number, printed):
    assert json_number(number) == printed
    assert isinstance(json_number(number), type(printed))


@pytest.mark.parametrize("typed", ["0.15", "2/3", "-0.05", "7", "1000000.000001"])
def test_an_exact_number_keeps_its_digits(typed):
    assert exact(exact_text(exact(typed))) == exact(typed) == Fraction(typed)


def test_equal_revisions_are_one_and_others_are_not():
    constants = DEMO_38.to_dict()
    read, again = System.from_dict(constants), System.from_dict(constants)
    other = System.from_dict(constants | {"end_cover_mm": 4})
    assert read.one is again.one
    assert read.one == read
    assert hash(read) == hash(again)
    assert other.one is other
    assert other != read
