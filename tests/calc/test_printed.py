"""An answer printed straight as text is what JSON writes of the answer, to the byte, and has not changed since."""

import json
import random
from hashlib import sha256

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc.components import components
from calc.printed import printed
from calc.spec import KEYS
from calc.system import System
from tests.calc.strategies import blinds, systems
from tests.calc.test_oracle import varied_blind

# Of the answers to 5,000 blinds, as they were printed when the working was still made as dicts and written by json.
SINCE = {
    True: "8c32ec1ee0c018e74fbb4be28be2f4679e0f6e042159e0fe365b2aa753f8f472",
    False: "068b71977297123cfb3ee84febb842f673596c23e842ac6094f90bf4ce9d8ca2",
}
ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.text(max_size=5), inner, max_size=2),
    max_leaves=4,
)


def held(blind, systems):
    for working in (True, False):
        answer = components(blind, systems=systems, working=working)
        assert printed(blind, systems=systems, working=working) == json.dumps(answer, allow_nan=False)


@settings(deadline=None)
@given(blinds(width=(340, 5900), drop=(290, 4100)), systems())
def test_any_blind_of_any_system_is_printed_as_json_writes_it(blind, constants):
    held(blind, {"demo-38": System.from_dict(constants)})


@settings(deadline=None)
@given(blinds(), st.dictionaries(st.sampled_from(KEYS) | st.text(max_size=8), ANYTHING, max_size=3), systems())
def test_whatever_is_given_is_printed_as_json_writes_it(blind, wrong, constants):
    # A percent sign in a system's own words is no place for a number.
    held(blind | wrong, {"demo-38": System.from_dict(constants | {"source": '100 % invented, "%s" and all'})})


@given(ANYTHING)
def test_what_is_no_blind_is_printed_as_json_writes_it(given_up):
    held(given_up, {})


@pytest.mark.parametrize("working", SINCE)
def test_five_thousand_varied_blinds_are_answered_to_the_byte_as_ever(working):
    pick, seen = random.Random(38), sha256()
    for _ in range(5_000):
        seen.update(f"{printed(varied_blind(pick), working=working)}\n".encode())
    assert seen.hexdigest() == SINCE[working]


def test_who_changes_an_answer_changes_no_other():
    blind = varied_blind(random.Random(1)) | {"width_mm": 1830, "drop_mm": 1600, "draw": "one_way"}
    first = printed(blind)
    answer = components(blind)
    for part in ("carriers", "spacer_tubes_mm", "stack_mm", "tolerances_mm"):
        answer[part].clear()
    for entry in answer["working"]:
        entry["values"].clear()
    assert printed(blind) == first == json.dumps(components(blind))
