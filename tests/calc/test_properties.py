"""What holds for every blind and every sound hardware system."""

from copy import deepcopy
from fractions import Fraction
from itertools import pairwise
from math import ceil, floor

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from calc.components import KEYS, components
from calc.system import System
from tests.calc.strategies import blinds, systems, tenths

many = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
sides = {"left": "right", "right": "left"}


def exact(number):
    return Fraction(str(number))


def made(blind, constants):
    """The answer, for a blind that its system can make; other blinds are passed over."""
    answer = components(blind, systems={"demo-38": System.from_dict(constants)})
    assume(answer["carriers"] is not None)
    return answer


def working(answer):
    return {figure["name"]: figure for figure in answer["working"]}


@given(systems(), blinds(), tenths(0, 2000))
@many
def test_the_count_of_carriers_never_falls_as_the_blind_grows_wider(constants, blind, wider):
    wide = blind | {"width_mm": float(exact(blind["width_mm"]) + exact(wider))}
    assert made(blind, constants)["carriers"]["total"] <= made(wide, constants)["carriers"]["total"]


@given(systems(), blinds(draw="split"))
@many
def test_a_split_count_is_even_and_within_one_of_what_one_bunch_over_the_same_span_would_take(constants, blind):
    answer = made(blind, constants)
    counts = answer["carriers"]
    assert counts["total"] % 2 == 0
    assert counts["left"] == counts["right"] == counts["total"] // 2
    span, pitch = working(answer)["span_mm"]["value"], working(answer)["carriers.total"]["values"]["link_pitch_mm"]
    one_bunch = ceil(exact(span) / exact(pitch)) + 1
    assert counts["total"] - one_bunch in (0, 1)


@given(systems(), blinds())
@many
def test_closed_vanes_always_overlap(constants, blind):
    answer = made(blind, constants)
    assert answer["overlap_mm"] > 0
    assert answer["centre_overlap_mm"] is None or answer["centre_overlap_mm"] > 0


@given(systems(), blinds())
@many
def test_a_closed_vane_clears_the_reveal_by_three_millimetres_at_either_end(constants, blind):
    figures = working(made(blind, constants))
    for side in sides:
        beyond = exact(figures[f"outermost_mm.{side}"]["value"]) - Fraction(blind["vane_width_mm"], 2)
        assert beyond >= 3


@given(systems(), blinds())
@many
def test_no_link_is_stretched_and_no_carrier_overlaps_its_neighbour(constants, blind):
    answer = made(blind, constants)
    system = System.from_dict(constants)
    pitch = exact(answer["closed_pitch_mm"])
    # The answer is rounded to four places; the widest pitch is a link's own.
    assert pitch <= system.parts(vane_width_mm=blind["vane_width_mm"]).link_pitch_mm + Fraction(1, 20000)
    assert pitch >= system.carrier_body_mm
    if answer["centre_spacing_mm"] is not None:
        assert exact(answer["centre_spacing_mm"]) >= system.lead_body_mm


@given(systems(), blinds())
@many
def test_closed_carriers_fill_the_span_exactly(constants, blind):
    answer = made(blind, constants)
    span, bunches = exact(working(answer)["span_mm"]["value"]), answer["carriers"]["lead"]
    spaces = answer["carriers"]["total"] - bunches
    filled = spaces * exact(answer["closed_pitch_mm"]) + exact(answer["centre_spacing_mm"] or 0)
    assert abs(filled - span) <= Fraction(spaces, 20000)


@given(systems(), blinds())
@many
def test_the_gap_check_of_a_right_count_always_shows_a_gap_that_one_carrier_too_many_would_change(constants, blind):
    answer = made(blind, constants)
    assert answer["gap_check_mm"] > 0
    if answer["carriers"]["lead"] == 1 and answer["carriers"]["total"] > 2:
        assert answer["gap_check_mm"] >= 15


@given(systems(), blinds())
@many
def test_the_other_hand_is_the_mirror_image(constants, blind):
    answer = made(blind, constants)
    mirrored = made(blind | {"hand": sides[blind["hand"]]}, constants)

    def turned(part):
        if isinstance(part, dict):
            return {sides.get(key, key): turned(value) for key, value in part.items()}
        return part

    plain = [key for key in KEYS if key not in ("working", "findings")]
    assert {key: turned(answer[key]) for key in plain} == {key: mirrored[key] for key in plain}
    assert answer["findings"] == mirrored["findings"]


@given(systems(), blinds(operation="cord_chain"))
@many
def test_no_cord_hangs_below_what_the_market_s_rule_allows(constants, blind):
    answer = made(blind, constants)
    limit = working(answer).get("longest_loop_mm")
    if answer["cord_drop_mm"] is None:
        refused = [finding["severity"] for finding in answer["findings"]]
        assert "refuse" in refused
    elif limit is not None:
        assert exact(answer["cord_drop_mm"]) <= exact(limit["value"])
        assert exact(answer["chain_loop_mm"]) / 2 <= exact(answer["longest_chain_mm"])


unasked = {"operation": "cord_chain", "control_drop_mm": None, "measured_chain_mm": None}
loose = st.sampled_from(["breakaway", "weight"])
devices = st.sampled_from(["tensioner", "breakaway"])


@given(systems(), blinds(**unasked, market="en13120", loop_control=devices, drop=(1500, 4000), above_drop=(0, 3000)))
@many
def test_a_loop_by_en_13120_ends_above_the_floor_by_its_device_s_height(constants, blind):
    answer = made(blind, constants)
    assume(answer["cord_drop_mm"] is not None)
    above_floor = exact(blind["installation_height_mm"]) - exact(answer["cord_drop_mm"])
    assert above_floor >= {"tensioner": 1500, "breakaway": 600}[blind["loop_control"]]


@given(systems(), blinds(**unasked, market="australia", loop_control=loose, drop=(1500, 4000), above_drop=(0, 3000)))
@many
def test_a_loose_loop_in_australia_ends_above_1600(constants, blind):
    answer = made(blind, constants)
    assume(answer["cord_drop_mm"] is not None)
    assert exact(blind["installation_height_mm"]) - exact(answer["cord_drop_mm"]) > 1600


@given(blinds(market="canada") | blinds(market="usa"))
@many
def test_no_chain_is_ever_made_for_a_market_that_allows_none(blind):
    answer = components(blind)
    assert answer["chain_balls"] is None
    assert answer["cord_cut_mm"] is None


@given(systems(), blinds(**unasked, market="en13120", loop_control=devices), st.integers(-20, 20))
@many
def test_the_cord_follows_the_measured_chain_tenth_by_tenth(constants, blind, off_tenths):
    nominal = made(blind, constants)
    assume(nominal["chain_drop_mm"] is not None)
    off = Fraction(off_tenths, 10)
    measured_mm = exact(nominal["chain_drop_mm"]) + off
    assume(measured_mm > 0 and (measured_mm * 10).denominator == 1)
    measured = made(blind | {"measured_chain_mm": float(measured_mm)}, constants)
    assume(measured["chain_drop_mm"] is not None)
    assert (measured["chain_balls"], measured["chain_loop_mm"]) == (nominal["chain_balls"], nominal["chain_loop_mm"])
    assert exact(measured["cord_drop_mm"]) - exact(nominal["cord_drop_mm"]) == off
    assert exact(measured["cord_cut_mm"]) - exact(nominal["cord_cut_mm"]) == 2 * off


@given(systems(), blinds())
@many
def test_the_printed_working_of_every_figure_comes_to_its_value(constants, blind):
    answer = components(blind, systems={"demo-38": System.from_dict(constants)})
    for figure in answer["working"]:
        assert list(figure) == ["name", "formula", "values", "value", "unit", "source"]
        names = {name: exact(value) for name, value in figure["values"].items()}
        arithmetic = {"__builtins__": {}, "ceil": ceil, "floor": floor, "max": max, "min": min}
        result = eval(figure["formula"], arithmetic, names)  # noqa: S307 - the formula is our own
        if figure["unit"] == "pieces":
            assert result == figure["value"], figure
        else:
            # What was put in is printed to four places, so what comes out may differ in the fourth.
            assert abs(exact(result) - exact(figure["value"])) <= Fraction(1, 10000), figure


@given(systems(), blinds())
@many
def test_every_figure_of_the_answer_has_its_working_under_its_own_path(constants, blind):
    answer = components(blind, systems={"demo-38": System.from_dict(constants)})
    values = {figure["name"]: figure["value"] for figure in answer["working"]}
    assert len(values) == len(answer["working"])

    def paths(part, path):
        if isinstance(part, dict):
            for key, value in part.items():
                yield from paths(value, f"{path}.{key}" if path else key)
        elif part is not None:
            yield path, part

    for path, value in paths({key: answer[key] for key in KEYS if key not in ("working", "findings")}, ""):
        assert values[path] == value


@given(systems(), blinds())
@many
def test_the_same_blind_always_comes_out_the_same_and_what_was_given_is_left_alone(constants, blind):
    system = System.from_dict(constants)
    given_before, constants_before = deepcopy(blind), system.to_dict()
    first = components(blind, systems={"demo-38": system})
    kept = deepcopy(first)
    # Whoever reads an answer may change it; the next one must not notice.
    first["findings"].clear()
    first["working"][0]["values"].clear()
    assert components(blind, systems={"demo-38": system}) == kept
    assert blind == given_before
    assert system.to_dict() == constants_before


@given(systems(), blinds())
@many
def test_every_number_is_whole_or_a_decimal_of_at_most_four_places(constants, blind):
    def numbers(part):
        if isinstance(part, dict):
            for value in part.values():
                yield from numbers(value)
        elif isinstance(part, list):
            for value in part:
                yield from numbers(value)
        elif isinstance(part, int | float):
            yield part

    for number in numbers(components(blind, systems={"demo-38": System.from_dict(constants)})):
        assert (exact(number) * 10_000).denominator == 1
        assert isinstance(number, int) or not number.is_integer()


@pytest.mark.parametrize("draw", ["one_way", "reverse", "split"])
@pytest.mark.parametrize("vane_width_mm", [89, 127])
def test_the_count_steps_up_by_one_bunch_at_a_time_over_the_whole_range(draw, vane_width_mm):
    blind = {
        "system": "demo-38",
        "drop_mm": 1500,
        "size_basis": "exact",
        "vane_width_mm": vane_width_mm,
        "draw": draw,
        "hand": "left",
        "operation": "cord_chain",
        "loop_control": "tensioner",
        "chain": "plastic",
        "market": "en13120",
        "fabric_g_per_m2": 100,
    }
    counts = [components(blind | {"width_mm": width_mm})["carriers"]["total"] for width_mm in range(350, 5801, 7)]
    steps = {after - before for before, after in pairwise(counts)}
    assert steps == ({0, 2} if draw == "split" else {0, 1})
