"""Bunches of two and three: narrower than the demo system is made, so worked here with a wider range of widths."""

from dataclasses import replace

import pytest

from calc.components import components
from calc.system import DEMO_38
from tests.calc.usual_blind import BLIND

NARROW = {"demo-38": replace(DEMO_38, min_width_mm=100)}
# One way, left, 89: the outermost carriers stand 58.5 and 50.5 from the ends, so the span is the width less 109.


@pytest.mark.parametrize(
    ("width_mm", "total", "held", "gap_mm", "worst_case_mm"),
    [
        # Span 70, two carriers, both held: close up they stand (13 + 21) / 2 = 17 apart, 70 - 17 = 53.
        # Rail 173, class m: 0.5, tubes 0.5 each, no link drawn out.
        (179, 2, 2, 53, 1.5),
        # Span 20: 3 is under 15, but there is no third carrier to hold. Rail 123: 0.5.
        (129, 2, 2, 3, 1.5),
        # Span 90, three carriers: two held would leave 90 - 80 - 13 = -3, so all three: 13 and 17 are 30, 90 - 30 = 60.
        (199, 3, 3, 60, 1.5),
        # Span 108, three carriers: two held leave 108 - 93 = 15, which is enough, and one link of +-0.15 is drawn out.
        (217, 3, 2, 15, 1.65),
    ],
)
def test_a_bunch_held_whole_counts_its_lead_carrier_s_body(width_mm, total, held, gap_mm, worst_case_mm):
    answer = components(BLIND | {"width_mm": width_mm}, systems=NARROW)
    assert answer["carriers"]["total"] == total
    assert answer["gap_check_held"] == held
    assert answer["gap_check_mm"] == gap_mm
    (why,) = [figure["values"] for figure in answer["working"] if figure["name"] == "gap_check_held"]
    assert (why["gap_with_two_held_mm"] == gap_mm) is (held == 2)
    assert answer["tolerances_mm"]["gap_check_mm"]["worst_case"] == worst_case_mm


@pytest.mark.parametrize(
    ("given", "closed_pitch_mm", "overlap_mm"),
    [
        # Span 20 between two carriers.
        ({"width_mm": 129}, 20, 69),
        # Span 250 - 110 = 140: four carriers, the lead carriers touching at 21, so (140 - 21) / 2 = 59.5 each side.
        ({"width_mm": 250, "draw": "split"}, 59.5, 29.5),
        # Span 90: (90 - 21) / 2 = 34.5.
        ({"width_mm": 200, "draw": "split"}, 34.5, 54.5),
    ],
)
def test_a_vane_may_lie_over_more_than_half_of_its_neighbour(given, closed_pitch_mm, overlap_mm):
    answer = components(BLIND | given, systems=NARROW)
    assert (answer["closed_pitch_mm"], answer["overlap_mm"]) == (closed_pitch_mm, overlap_mm)


def test_a_bunch_of_two_stacks_its_lead_against_its_anchored_carrier():
    # 58.5 to the anchored axis, 17 to the lead's, 10.5 to its face.
    assert components(BLIND | {"width_mm": 179}, systems=NARROW)["stack_mm"] == {"left": 86, "right": None}
