"""The rail at its limits, which the demo system's own range of widths and weights does not reach."""

from dataclasses import replace
from fractions import Fraction

import pytest

from calc.components import components
from calc.system import DEMO_38
from tests.calc.usual_blind import BLIND


def answer(system, **given):
    return components(BLIND | given, systems={"demo-38": system})


@pytest.mark.parametrize("bracket_inset_mm", [172, 173, 200])
def test_a_rail_no_longer_than_its_two_bracket_insets_still_hangs_from_two_brackets(bracket_inset_mm):
    # The narrowest rail is 350 - 6 = 344, twice 172.
    system = replace(DEMO_38, bracket_inset_mm=bracket_inset_mm)
    assert answer(system, width_mm=350)["brackets"] == 2


# 0.52 x 1.494 + 0.11 x 1.485 = 0.94023; 19 x (9 + 32) = 779 g; 19 vanes x 1.528 x 0.089 x 240 g = 620.123 g.
MASS_KG = Fraction("0.94023") + Fraction("0.779") + 19 * Fraction("1.528") * Fraction("0.089") * Fraction("0.24")


@pytest.mark.parametrize(("rating_kg", "refused"), [(MASS_KG, False), (MASS_KG - Fraction(1, 10**6), True)])
def test_a_rail_may_carry_exactly_its_rating_and_no_milligram_more(rating_kg, refused):
    findings = answer(replace(DEMO_38, rail_rating_kg=rating_kg))["findings"]
    assert ("mass_over_rating" in {finding["code"] for finding in findings}) == refused
