"""The worked examples: each a sentence that a maker could have written, worked by hand, with its source beside it."""

import tomllib
from decimal import Decimal
from pathlib import Path

import pytest

from calc.components import KEYS, components
from calc.rounding import json_number
from calc.tolerance import tape_error_mm, verdict

FOLDER = Path(__file__).parents[2] / "fixtures" / "examples"
FILES = {path.stem: tomllib.loads(path.read_text(), parse_float=Decimal) for path in sorted(FOLDER.glob("*.toml"))}


def examples(kind):
    return [
        pytest.param(content["usual"], example, id=f"{part}: {example['name']}")
        for part, content in FILES.items()
        for example in content.get(kind, [])
    ]


def blind_of(usual, example):
    blind = {"system": "demo-38", **usual, **example["given"]}
    return {key: value for key, value in blind.items() if key not in example.get("without", [])}


def as_toml(value):
    """An answer's value as the examples write it: decimals, and 'absent' where there is none."""
    if isinstance(value, dict):
        return {key: as_toml(part) for key, part in value.items()}
    if value is None:
        return "absent"
    return Decimal(repr(value))


def narrowed(answer, expected):
    """Only those keys of `answer` that `expected` speaks of."""
    if not isinstance(expected, dict) or not isinstance(answer, dict):
        return answer
    return {key: narrowed(answer[key], value) for key, value in expected.items()}


@pytest.mark.parametrize(("usual", "example"), examples("example"))
def test_a_blind_comes_out_as_it_was_worked_by_hand(usual, example):
    answer = components(blind_of(usual, example))
    assert as_toml(narrowed(answer, example["expect"])) == example["expect"]
    codes = [finding["code"] for finding in answer["findings"]]
    if "findings" in example:
        assert sorted(codes) == sorted(example["findings"])
    else:
        assert not any(finding["severity"] == "refuse" for finding in answer["findings"])
    if example.get("only_sizes"):
        rest = set(KEYS) - {"finished_width_mm", "finished_drop_mm", "working", "findings"}
        assert all(answer[key] is None for key in rest)
        named = {figure["name"] for figure in answer["working"]}
        assert named <= {"finished_width_mm", "finished_drop_mm"}


@pytest.mark.parametrize(("usual", "example"), examples("tape"))
def test_a_tape_is_as_wrong_as_the_directive_allows(usual, example):
    assert Decimal(repr(json_number(tape_error_mm(**example["given"])))) == example["error_mm"]


@pytest.mark.parametrize(("usual", "example"), examples("verdict"))
def test_a_measured_value_is_judged_by_the_decision_rule(usual, example):
    assert verdict(**example["given"]) == example["verdict"]


def test_the_examples_cover_every_part_and_every_draw_with_both_operations():
    assert {"carriers", "headrail", "controls", "vanes", "tolerances", "safety", "refusals"} <= set(FILES)
    made = {
        (blind["draw"], blind["operation"])
        for content in FILES.values()
        for example in content["example"]
        for blind in [blind_of(content["usual"], example)]
    }
    every = {(draw, operation) for draw in ("one_way", "reverse", "split") for operation in ("cord_chain", "wand")}
    assert every <= made


def test_every_example_names_its_source_and_shows_its_arithmetic():
    for content in FILES.values():
        for kind in ("example", "tape", "verdict"):
            for example in content.get(kind, []):
                assert example["source"], example["name"]
                assert example["working"], example["name"]


def test_every_figure_of_an_answer_is_expected_by_some_example():
    spoken_of = {key for content in FILES.values() for example in content["example"] for key in example["expect"]}
    assert spoken_of == set(KEYS) - {"working", "findings"}
