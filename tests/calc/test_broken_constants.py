"""Each constant of a hardware system at its limit, which is sound, and just beyond it, which is said."""

from dataclasses import replace
from fractions import Fraction

import pytest

from calc.breaches import breaches, broken
from calc.system import DEMO_38

TENTH = Fraction(1, 10)
ABOVE_NOTHING = (
    "revision",
    "control_inset_mm",
    "idle_inset_mm",
    "carrier_body_mm",
    "lead_body_mm",
    "drop_loss_mm",
    "ball_pitch_mm",
    "bracket_span_mm",
    "min_width_mm",
    "min_drop_mm",
    "rail_kg_per_m",
    "rod_kg_per_m",
    "carrier_g",
    "rail_rating_kg",
    "vane_89.link_pitch_mm",
    "vane_89.bottom_weight_g",
    "vane_127.link_pitch_mm",
    "vane_127.bottom_weight_g",
)
NOT_BELOW_NOTHING = (
    "recess_width_clearance_mm",
    "recess_drop_clearance_mm",
    "end_cover_mm",
    "rod_shortfall_mm",
    "top_hem_mm",
    "bottom_hem_mm",
    "cord_over_chain_tensioner_mm",
    "cord_over_chain_breakaway_mm",
    "cord_over_chain_weight_mm",
    "bracket_inset_mm",
    "link_tolerance_mm",
    "vane_89.anchored_tube_one_way_mm",
    "vane_89.anchored_tube_reverse_mm",
    "vane_89.anchored_tube_split_mm",
    "vane_89.lead_tube_one_way_mm",
    "vane_89.lead_tube_reverse_mm",
    "vane_127.anchored_tube_one_way_mm",
    "vane_127.anchored_tube_reverse_mm",
    "vane_127.anchored_tube_split_mm",
    "vane_127.lead_tube_one_way_mm",
    "vane_127.lead_tube_reverse_mm",
)


def with_one(key, value):
    vane, _, name = key.rpartition(".")
    if not vane:
        return replace(DEMO_38, **{name: value})
    return replace(DEMO_38, **{vane: replace(getattr(DEMO_38, vane), **{name: value})})


def said_of(key, value):
    """What is said of the value of `key` by itself."""
    vane, _, name = key.rpartition(".")
    within = f"{vane.removeprefix('vane_')} mm vanes: " if vane else ""
    return [breach for breach in breaches(with_one(key, value)) if breach.startswith(f"{within}{name} is")]


@pytest.mark.parametrize("key", ABOVE_NOTHING)
def test_what_must_be_something_is_above_0(key):
    name = key.rpartition(".")[2]
    for none in (0, -1):
        (breach,) = said_of(key, none)
        assert breach.endswith(f"{name} is {none}; it must be above 0")
    assert said_of(key, TENTH) == []


@pytest.mark.parametrize("key", NOT_BELOW_NOTHING)
def test_what_may_be_nothing_is_not_below_0(key):
    name = key.rpartition(".")[2]
    (breach,) = said_of(key, -TENTH)
    assert breach.endswith(f"{name} is -0.1; it can't be below 0")
    assert said_of(key, 0) == []


@pytest.mark.parametrize("key", ["control_share", "wand_share"])
def test_a_share_is_above_0_and_at_most_1(key):
    for wrong in (-TENTH, 0, 1 + TENTH):
        assert len(said_of(key, wrong)) == 1
    for sound in (TENTH, 1):
        assert said_of(key, sound) == []


@pytest.mark.parametrize("letter", "fmcv")
def test_a_tolerance_above_4000_that_is_given_is_above_0(letter):
    for none in (0, -1):
        assert said_of(f"above_4000_{letter}_mm", none) == [f"above_4000_{letter}_mm is {none}; it must be above 0"]
    assert said_of(f"above_4000_{letter}_mm", TENTH) == []


@pytest.mark.parametrize(
    ("sound", "broken_by_a_tenth", "says"),
    [
        ({"min_width_mm": 1500, "max_width_mm": 1500}, {"max_width_mm": 1500 - TENTH}, "min_width_mm is 0.1 mm more"),
        ({"min_drop_mm": 1500, "max_drop_mm": 1500}, {"max_drop_mm": 1500 - TENTH}, "min_drop_mm is 0.1 mm more"),
        # The least drop of 300 less the headrail and hanger must leave some vane.
        ({"drop_loss_mm": 300 - TENTH}, {"drop_loss_mm": 300}, "leaves no vane"),
        # The least width of 350 less two covers of 3 is 344.
        ({"rod_shortfall_mm": 344 - TENTH}, {"rod_shortfall_mm": 344}, "leave a tilt rod"),
        ({"wands_mm": (TENTH, 500)}, {"wands_mm": (0, 500)}, "wands_mm must be lengths above 0"),
    ],
)
def test_what_hangs_together_is_sound_up_to_its_limit(sound, broken_by_a_tenth, says):
    assert not any(says in breach for breach in breaches(replace(DEMO_38, **sound)))
    assert any(says in breach for breach in breaches(replace(DEMO_38, **(sound | broken_by_a_tenth))))


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"drop_loss_mm": 310}, "drop_loss_mm 310 mm leaves no vane at min_drop_mm 300 mm"),
        ({"rod_shortfall_mm": 350}, "leave a tilt rod of -6 mm at min_width_mm"),
        ({"wands_mm": (-1, 500)}, "wands_mm must be lengths above 0"),
        ({"wands_mm": (500, 500, 750)}, "wands_mm must be lengths above 0, each once"),
    ],
)
def test_what_is_far_beyond_its_limit_is_said_too(changes, says):
    assert any(says in breach for breach in breaches(replace(DEMO_38, **changes)))


@pytest.mark.parametrize(("low", "high"), [("min_width_mm", "max_width_mm"), ("min_drop_mm", "max_drop_mm")])
def test_a_range_that_holds_no_size_in_tenths_is_said_once(low, high):
    # An order comes in tenths, or in tenths less the clearance of 10 or 12: never to 1500.05.
    between = Fraction(150005, 100)
    found = breaches(replace(DEMO_38, **{low: between, high: between}))
    assert found == [f"no size in tenths lies between {low} and {high} (1500.05 mm)"]


def test_an_outermost_vane_far_inside_the_reveal_is_said_with_what_is_lacking_and_the_widest_blind():
    # 89: half of it and 3 are 47.5. Lead end, one way: 5 + 0 + 21 / 2 = 15.5, which is 32 less.
    near = replace(with_one("vane_89.lead_tube_one_way_mm", 0), idle_inset_mm=5)
    breach = next(one for one in broken(near) if "89 mm vanes, one way, lead end" in one.message)
    assert "= 15.5 mm, which is 32 mm less than the 47.5 mm" in breach.message
    assert (breach.blind["draw"], breach.blind["finished_width_mm"]) == ("one_way", 5800)


@pytest.mark.parametrize(("pitch_mm", "above_mm"), [(89, 0), (200, 111)])
def test_a_link_as_long_as_the_vane_is_wide_or_longer_is_said_with_by_how_much(pitch_mm, above_mm):
    breach = next(one for one in breaches(with_one("vane_89.link_pitch_mm", pitch_mm)) if "closed vanes must" in one)
    assert f"link_pitch_mm is {pitch_mm} mm, {above_mm} mm above the vane width" in breach


@pytest.mark.parametrize(("lead_mm", "above_mm"), [(89, 0), (200, 111)])
def test_a_lead_carrier_as_long_as_the_vane_is_wide_or_longer_is_shown_by_the_widest_split_blind(lead_mm, above_mm):
    breach = next(one for one in broken(replace(DEMO_38, lead_body_mm=lead_mm)) if "middle pair" in one.message)
    assert breach.message.startswith(f"89 mm vanes: lead_body_mm is {lead_mm} mm, {above_mm} mm above the vane width")
    assert (breach.blind["draw"], breach.blind["finished_width_mm"]) == ("split", 5800)


def test_a_lead_carrier_a_tenth_shorter_than_the_vane_is_wide_leaves_the_middle_pair_an_overlap():
    assert not any("middle pair" in one for one in breaches(replace(DEMO_38, lead_body_mm=89 - TENTH)))


def test_a_breach_shows_no_blind_where_the_range_holds_none():
    (breach,) = [one for one in broken(replace(DEMO_38, lead_body_mm=100, max_width_mm=300)) if "middle" in one.message]
    assert breach.blind is None
