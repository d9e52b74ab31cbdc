"""Every key of every answer against a second, naive computation that shares no code with the first."""

import random
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings

from calc.components import KEYS, OUTLINE, components, outline
from calc.system import DEMO_38, System
from tests.calc import oracle
from tests.calc.strategies import DEMO, blinds, systems


def as_printed(part):
    """An oracle's part as four-place decimals; what is not a number stays as it is."""
    if isinstance(part, dict):
        return {key: as_printed(value) for key, value in part.items()}
    if isinstance(part, int | Fraction):
        return oracle.four_places(Fraction(part))
    return part


def as_decimals(part):
    """An answer's part as decimals, each number as JSON would print it."""
    if isinstance(part, dict):
        return {key: as_decimals(value) for key, value in part.items()}
    return part if part is None else Decimal(repr(part))


def check(blind, constants, system):
    answer = components(blind, systems={"demo-38": system})
    parts, codes = oracle.blind(blind, constants)
    expected = dict.fromkeys(key for key in KEYS if key not in ("working", "findings")) | parts
    assert list(answer) == list(KEYS)
    for key, part in expected.items():
        assert as_decimals(answer[key]) == as_printed(part), (key, blind)
    assert sorted(finding["code"] for finding in answer["findings"]) == codes, blind
    without = {key: part for key, part in answer.items() if key != "working"}
    assert components(blind, systems={"demo-38": system}, working=False) == without, blind
    assert outline(blind, systems={"demo-38": system}) == {key: answer[key] for key in OUTLINE}, blind


def varied_blind(pick):
    """A blind with every value drawn apart, sizes a little beyond the range too."""

    def length(low, high):
        return pick.randint(low, high) if pick.random() < 0.5 else pick.randint(low * 10, high * 10) / 10

    looped = pick.random() < 0.75
    drop = length(290, 4050) if pick.random() < 0.7 else length(2480, 2530)
    return {
        "system": "demo-38",
        "width_mm": length(340, 5900) if pick.random() < 0.7 else length(340, 700),
        "drop_mm": drop,
        "size_basis": pick.choice(["recess", "exact"]),
        "vane_width_mm": pick.choice([89, 127]),
        "draw": pick.choice(["one_way", "reverse", "split"]),
        "hand": pick.choice(["left", "right"]),
        "operation": "cord_chain" if looped else "wand",
        "loop_control": pick.choice(["tensioner", "breakaway", "weight"]) if looped else None,
        "chain": pick.choice(["plastic", "metal"]) if looped else None,
        "control_drop_mm": length(1, 2600) if pick.random() < 0.3 else None,
        "measured_chain_mm": length(1, 2600) if pick.random() < 0.3 else None,
        "installation_height_mm": max(1, round(drop) + pick.randint(-200, 2400)) if pick.random() < 0.5 else None,
        "market": pick.choice(["en13120", "en13120", "en13120", "australia", "australia", "canada", "usa"]),
        "fixing": pick.choice(["top", "face"]),
        "bottom": pick.choice(["chain", "chainless"]),
        "fabric_g_per_m2": pick.choice([150, 240, 330.5, 800, 2000]),
    }


@pytest.mark.parametrize("seed", range(10))
def test_every_key_of_five_hundred_varied_blinds_equals_the_naive_computation(seed):
    pick = random.Random(seed)
    for _ in range(500):
        check(varied_blind(pick), DEMO, DEMO_38)


@given(constants=systems(), blind=blinds())
@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_every_key_equals_the_naive_computation_whatever_the_hardware_system(constants, blind):
    check(blind, constants, System.from_dict(constants))


def test_the_naive_computation_knows_every_code_that_a_well_formed_blind_can_have():
    pick = random.Random(2026)
    seen = {code for _ in range(4000) for code in oracle.blind(varied_blind(pick), DEMO)[1]}
    assert seen == {
        "out_of_range",
        "height_below_drop",
        "loop_not_allowed",
        "device_required",
        "height_required",
        "control_drop_too_long",
        "cord_too_long",
        "mass_over_rating",
        "wand_reverse",
        "chain_off_nominal",
        "chain_below_blind",
        "wand_longer_than_blind",
        "ignored_with_wand",
        "bottom_chain_loop",
        "chain_rounded",
        "market_rule",
    }
