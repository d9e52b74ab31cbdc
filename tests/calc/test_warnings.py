"""A warning or a note stops no blind; it says the values that it is about and what to do."""

import pytest

from calc.components import components
from calc.findings import SEVERITIES
from tests.calc.usual_blind import BLIND

WAND = {"operation": "wand", "loop_control": None, "chain": None}

# (code, what the blind has, the field, what is said). The usual blind's chain may hang 980 and comes to 326 balls, 978.
SAID = [
    (
        "chain_off_nominal",
        {"measured_chain_mm": 970},
        "measured_chain_mm",
        # ISO 2768-1 class v, 400 to 1000: 4.
        "is 970 mm, 8 mm off its nominal 978 mm; its tolerance is +-4 mm. Count its balls",
    ),
    (
        "chain_below_blind",
        {"drop_mm": 900, "control_drop_mm": 960},
        "control_drop_mm",
        "hangs 960 mm, below the finished drop of 900 mm. Shorten it",
    ),
    (
        "chain_below_blind",
        {"drop_mm": 900, "measured_chain_mm": 950},
        "measured_chain_mm",
        "hangs 950 mm, below the finished drop of 900 mm. Shorten it",
    ),
    (
        "chain_rounded",
        # 3/4 of 801 is 600.75; 1201.5 / 6 = 200.25 balls.
        {"drop_mm": 801},
        "control_drop_mm",
        "make the chain drop 600 mm instead of 600.75 mm (ball pitch 6 mm)",
    ),
    (
        "wand_longer_than_blind",
        WAND | {"drop_mm": 400},
        "operation",
        "is 500 mm, longer than the finished drop of 400 mm. Cut it",
    ),
    (
        "ignored_with_wand",
        WAND | {"control_drop_mm": 700},
        "control_drop_mm",
        "control_drop_mm is 700, but a wand blind has no chain",
    ),
    (
        "ignored_with_wand",
        WAND | {"measured_chain_mm": 699.5},
        "measured_chain_mm",
        "measured_chain_mm is 699.5, but a wand blind has no chain",
    ),
    ("bottom_chain_loop", {"market": "australia"}, "bottom", "no loop of 220 mm or more at or below 1600 mm"),
    (
        "market_rule",
        {"installation_height_mm": 2500},
        "market",
        "it may hang the height less 1500 mm. The safety device is fitted in the factory",
    ),
    ("market_rule", {"installation_height_mm": 2500}, "market", "Here that is 1000 mm."),
]


@pytest.mark.parametrize(("code", "blind", "field", "says"), SAID)
def test_a_warning_says_its_values_and_what_to_do_and_stops_nothing(code, blind, field, says):
    answer = components(BLIND | blind)
    (finding,) = [one for one in answer["findings"] if one["code"] == code]
    assert says in finding["message"]
    assert finding["field"] == field
    assert not any(one["severity"] == "refuse" for one in answer["findings"])
    assert answer["mass_kg"]


def test_every_warning_is_walked():
    assert {code for code, *_ in SAID} == {code for code, severity in SEVERITIES.items() if severity != "refuse"}
