"""Bad data is refused out loud, every problem at once, and never raises."""

import json
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc.components import KEYS, OUTLINE, components, outline
from calc.findings import SEVERITIES
from calc.spec import KEYS as SPEC_KEYS
from calc.spec import Spec, read_spec
from calc.system import DEMO_38
from tests.calc import usual_blind

BLIND = usual_blind.BLIND | {
    "control_drop_mm": None,
    "measured_chain_mm": None,
    "installation_height_mm": None,
    "fixing": "top",
    "bottom": "chain",
}
REQUIRED = ("system", "width_mm", "drop_mm", "size_basis", "vane_width_mm", "draw", "hand", "operation", "market")
REQUIRED += ("fabric_g_per_m2",)
LISTS = ("size_basis", "draw", "hand", "operation", "loop_control", "chain", "market", "fixing", "bottom", "system")
NUMBERS = ("width_mm", "drop_mm", "control_drop_mm", "measured_chain_mm", "installation_height_mm", "fabric_g_per_m2")


def refusals(given):
    return [(one["code"], one["field"]) for one in components(given)["findings"] if one["severity"] == "refuse"]


@pytest.mark.parametrize("key", REQUIRED)
@pytest.mark.parametrize("absent", [True, False], ids=["left out", "null"])
def test_a_value_that_every_blind_needs_is_missed_by_name(key, absent):
    blind = {name: value for name, value in BLIND.items() if name != key} if absent else BLIND | {key: None}
    (finding,) = [one for one in components(blind)["findings"] if one["severity"] == "refuse"]
    assert (finding["code"], finding["field"]) == ("wrong_type", key)
    assert f"{key} is missing" in finding["message"]


@pytest.mark.parametrize("key", LISTS)
def test_a_text_that_is_not_in_its_list_is_refused_with_the_list(key):
    answer = components(BLIND | {key: "sideways"})
    (finding,) = [one for one in answer["findings"] if one["severity"] == "refuse"]
    assert (finding["code"], finding["field"]) == ("not_in_list", key)
    assert "'sideways'" in finding["message"]
    assert str(BLIND[key]) in finding["message"]


@pytest.mark.parametrize("key", LISTS)
@pytest.mark.parametrize("value", [1, 1.5, True, [], {}, ["left"]])
def test_what_is_no_text_is_refused_where_text_belongs(key, value):
    assert ("wrong_type", key) in refusals(BLIND | {key: value})


@pytest.mark.parametrize("key", [*NUMBERS, "vane_width_mm"])
@pytest.mark.parametrize("value", ["1500", True, False, [], {}, float("nan"), float("inf"), Decimal("NaN")])
def test_what_is_no_number_is_refused_where_a_number_belongs(key, value):
    assert refusals(BLIND | {key: value}) == [("wrong_type", key)]


@pytest.mark.parametrize("key", NUMBERS)
@pytest.mark.parametrize(
    "value", [1500.05, 1500.06, 0.01, Decimal("1500.01"), Decimal("1500.06"), Decimal("1E-400"), 1e-300]
)
def test_a_number_finer_than_a_tenth_is_refused(key, value):
    assert refusals(BLIND | {key: value}) == [("wrong_type", key)]


@pytest.mark.parametrize("value", [1500.1, Decimal("1500.1"), Decimal("1500.10"), Decimal("15001E-1")])
def test_a_tenth_is_read_however_it_is_typed(value):
    assert components(BLIND | {"width_mm": value})["finished_width_mm"] == 1500.1


@pytest.mark.parametrize(
    ("key", "most"),
    [
        ("control_drop_mm", 5000),
        ("measured_chain_mm", 5000),
        ("installation_height_mm", 10000),
        ("fabric_g_per_m2", 2000),
    ],
)
def test_a_value_is_above_nothing_and_at_most_its_limit(key, most):
    for outside in (0, -1, most + 0.1):
        assert refusals(BLIND | {key: outside}) == [("out_of_range", key)]
    for inside in (0.1, most):
        assert ("out_of_range", key) not in refusals(BLIND | {key: inside})


@pytest.mark.parametrize("key", NUMBERS)
@pytest.mark.parametrize("value", [10**400, -(10**400), 1e300, Decimal("1E+999999"), 10**5000], ids=range(5))
def test_a_number_beyond_all_measure_is_out_of_range(key, value):
    assert ("out_of_range", key) in refusals(BLIND | {key: value})


@pytest.mark.parametrize("key", ["width_mm", "drop_mm"])
@pytest.mark.parametrize("kind", [int, float, Decimal])
def test_a_size_that_no_tape_measures_is_told_apart_from_one_that_no_system_is_made_in(key, kind):
    def said(size):
        return next(one["message"] for one in components(BLIND | {key: kind(size)})["findings"])

    for far in (10**12, -(10**12), 10**15):
        assert "it must be a size that can be measured" in said(far)
    assert "999999999999 mm, " in said(10**12 - 1)


def test_a_key_that_is_no_text_is_an_unknown_key():
    assert refusals(BLIND | {7: 1, None: 2, 10**5000: 3}) == [
        ("unknown_key", "7"),
        ("unknown_key", "None"),
        ("unknown_key", "a number of thousands of digits"),
    ]


@pytest.mark.parametrize("blind", [None, 1, "a blind", [], [BLIND], True])
def test_what_is_no_object_is_one_refusal_of_the_whole(blind):
    answer = components(blind)
    assert components(blind, working=False) == {key: part for key, part in answer.items() if key != "working"}
    assert outline(blind) == {key: answer[key] for key in OUTLINE}
    (finding,) = answer["findings"]
    assert (finding["code"], finding["field"], finding["severity"]) == ("wrong_type", "", "refuse")
    assert answer["working"] == []
    assert all(answer[key] is None for key in KEYS if key not in ("working", "findings"))


def test_every_problem_is_said_at_once():
    wrong = BLIND | {"hand": "up", "width_mm": "wide", "drop_mm": 100, "colour": "white", "market": "canada"}
    assert refusals(wrong) == [
        ("unknown_key", "colour"),
        ("wrong_type", "width_mm"),
        ("not_in_list", "hand"),
        ("out_of_range", "drop_mm"),
        ("loop_not_allowed", "operation"),
    ]


def test_a_value_is_repeated_up_to_60_characters_and_cut_short_beyond():
    def repeated(text):
        (finding,) = [one for one in components(BLIND | {"hand": text})["findings"] if one["code"] == "not_in_list"]
        return finding["message"].removeprefix("hand is ").split(";")[0]

    # With its two quotes a text of 58 is 60 long.
    assert repeated("l" * 58) == f"'{'l' * 58}'"
    assert repeated("l" * 59) == f"'{'l' * 56}..."


def test_a_refusal_of_a_very_long_value_stays_short():
    answer = components(BLIND | {"hand": "l" * 100_000, "width_mm": 10**5000})
    assert all(len(finding["message"]) < 1000 for finding in answer["findings"])


anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8) | st.decimals(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
    max_leaves=4,
)


@given(st.dictionaries(st.sampled_from([*SPEC_KEYS, "colour"]), anything, max_size=6))
@settings(max_examples=400, deadline=None)
def test_whatever_is_given_never_raises_and_always_answers_every_key_in_json(changes):
    answer = components(BLIND | changes)
    assert list(answer) == list(KEYS)
    assert components(BLIND | changes, working=False) == {key: part for key, part in answer.items() if key != "working"}
    assert outline(BLIND | changes) == {key: answer[key] for key in OUTLINE}
    assert json.loads(json.dumps(answer, allow_nan=False)) == answer
    for finding in answer["findings"]:
        assert list(finding) == ["code", "severity", "field", "message", "source"]
        assert finding["severity"] == SEVERITIES[finding["code"]]
        assert finding["message"]
        assert finding["source"]
    assert [one["code"] for one in answer["findings"]].count("market_rule") == 1


def test_a_spec_is_read_with_its_defaults_or_refused_with_its_findings():
    given = {key: value for key, value in BLIND.items() if key not in ("fixing", "bottom")}
    spec, findings = read_spec(given, DEMO_38)
    assert findings == []
    assert spec == Spec(**BLIND)
    spec, findings = read_spec(given | {"width_mm": 100}, DEMO_38)
    assert spec is None
    assert [finding["code"] for finding in findings] == ["out_of_range"]


@pytest.mark.parametrize("key", ["width_mm", "drop_mm", "size_basis"])
def test_a_spec_without_a_size_or_its_basis_is_refused_for_that_alone(key):
    spec, findings = read_spec(BLIND | {key: None}, DEMO_38)
    assert spec is None
    assert [(finding["code"], finding["field"]) for finding in findings] == [("wrong_type", key)]


# Each refusal's blind, the value that it is about, the limit that it is held against, and what to do, in its message.
# Limits of the demo system are invented; the markets' are those of calc.safety, with their sources there.
SAID = {
    "unknown_key": ({"colour": "white"}, "'colour'", "width_mm", "Leave it out"),
    "wrong_type": ({"width_mm": "wide"}, "'wide'", "a number, whole or in tenths", "Correct it"),
    "not_in_list": ({"hand": "up"}, "'up'", "left, right", "Pick one"),
    "out_of_range": ({"width_mm": 5812}, "5812 mm", "5800 mm, the widest that demo-38 is made in", "Order two blinds"),
    "height_below_drop": ({"installation_height_mm": 1400}, "1400 mm", "1500 mm", "Measure both again"),
    "loop_not_allowed": ({"market": "canada"}, "cord and chain", "no loop over 440 mm", "Order operation wand"),
    "device_required": ({"loop_control": "weight"}, "a loop weight", "EN 13120 asks for a safety device", "Pick"),
    "height_required": ({"market": "australia", "loop_control": "weight"}, "height must be known", "1600 mm", "Give"),
    "control_drop_too_long": ({"control_drop_mm": 1200}, "1200 mm", "980 mm", "Ask for no more than that"),
    "cord_too_long": ({"measured_chain_mm": 985}, "cord drop of 1005 mm", "1000 mm", "shorten the chain"),
    "mass_over_rating": (
        {"width_mm": 5800, "drop_mm": 4000, "draw": "split", "fabric_g_per_m2": 450},
        "18.621 kg",
        "15 kg",
        "Pick a lighter fabric",
    ),
    "wand_reverse": (
        {"operation": "wand", "draw": "reverse", "loop_control": None, "chain": None},
        "reverse",
        "no control end",
        "Order one_way with the right hand",
    ),
}


def test_every_refusal_is_walked():
    assert set(SAID) == {code for code, severity in SEVERITIES.items() if severity == "refuse"}


@pytest.mark.parametrize("code", SAID)
def test_a_refusal_says_the_value_the_limit_and_what_to_do(code):
    blind, value, limit, imperative = SAID[code]
    (finding,) = [one for one in components(BLIND | blind)["findings"] if one["code"] == code]
    for part in (value, limit, imperative):
        assert part in finding["message"]
    assert finding["message"].endswith(".")
    assert finding["source"]


@pytest.mark.parametrize(
    ("size", "said"),
    [
        ({"width_mm": 5800.1}, "5800.1 mm, wider than 5800 mm, the widest that demo-38 is made in. Order two blinds"),
        ({"width_mm": 349}, "349 mm, narrower than 350 mm, the narrowest that demo-38 is made in. Measure again"),
        ({"drop_mm": 4001}, "4001 mm, longer than 4000 mm, the longest that demo-38 is made in. Measure again"),
        ({"drop_mm": 299.9}, "299.9 mm, shorter than 300 mm, the shortest that demo-38 is made in. Measure again"),
    ],
)
def test_a_size_out_of_range_says_on_which_side_and_the_way_out(size, said):
    (finding,) = [one for one in components(BLIND | size)["findings"] if one["code"] == "out_of_range"]
    assert said in finding["message"]


@pytest.mark.parametrize("other", [{"measured_chain_mm": 5000.1}, {"fabric_g_per_m2": 2001}, {"control_drop_mm": 0}])
def test_a_value_beyond_what_can_be_typed_says_its_limit(other):
    (key, value), most = next(iter(other.items())), {"fabric_g_per_m2": "2000"}.get(next(iter(other)), "5000")
    (finding,) = [one for one in components(BLIND | other)["findings"] if one["code"] == "out_of_range"]
    assert f"{key} is {value}; it must be above 0 and at most {most}. Correct it." == finding["message"]


def test_a_refusal_for_the_mass_says_both_masses_and_the_way_out():
    heavy = BLIND | {"width_mm": 5800, "drop_mm": 4000, "draw": "split", "fabric_g_per_m2": 450}
    (finding,) = [one for one in components(heavy)["findings"] if one["code"] == "mass_over_rating"]
    assert "18.621 kg" in finding["message"]
    assert "15 kg" in finding["message"]
    assert "Pick a lighter fabric" in finding["message"]


@pytest.mark.parametrize(
    ("blind", "field", "says"),
    [
        # A loop held by a tensioner may hang 1522.9 - 1500 = 22.9, the chain 20 less: 2.9, twice which is under 6.
        ({"drop_mm": 1400, "installation_height_mm": 1522.9}, "operation", "may hang 22.9 mm and the cord hangs 20 mm"),
        ({"control_drop_mm": 2.9}, "control_drop_mm", "A chain drop of 2.9 mm has less than one ball (pitch 6 mm)"),
    ],
)
def test_a_chain_of_less_than_one_ball_is_refused_where_the_way_out_is(blind, field, says):
    (finding,) = [one for one in components(BLIND | blind)["findings"] if one["severity"] == "refuse"]
    assert (finding["code"], finding["field"]) == ("loop_not_allowed", field)
    assert says in finding["message"]
    assert "order operation wand" in finding["message"]
