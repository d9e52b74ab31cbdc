"""The bands that a tablet judges by without a network are the verdict, value by value."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.bands import Band, bands
from calc.tolerance import OUTSIDE, verdict


def judged_by(found, measured_mm):
    return next((band.verdict for band in found if band.from_mm <= measured_mm <= band.to_mm), OUTSIDE)


def test_the_bands_of_the_gap_of_the_worked_example():
    # 63 +-5.2, and a class II tape errs by 0.3 + 0.2 = 0.5 within the first metre: directive 2014/32/EU annex X.
    assert bands(nominal_mm=63, tolerance_mm=5.2) == (
        Band("doubtful", 57.3, 58.2),
        Band("within", 58.3, 67.7),
        Band("doubtful", 67.8, 68.7),
    )


def test_the_tape_errs_more_past_the_metre():
    # Up to 1000 it errs by 0.5, past it by 0.7: within at 999.7 and doubtful just past 1000.
    found = bands(nominal_mm=1000, tolerance_mm=0.6)
    assert [judged_by(found, each) for each in (999.8, 999.9, 1000, 1000.1, 1001.3, 1001.4)] == [
        "doubtful",
        "within",
        "within",
        "doubtful",
        "doubtful",
        "outside",
    ]


def test_where_the_tape_errs_as_much_as_the_tolerance_nothing_is_within():
    assert {band.verdict for band in bands(nominal_mm=25, tolerance_mm=0.5)} == {"doubtful"}


@given(
    nominal=st.integers(1, 60_000),
    tolerance=st.integers(1, 900),
    off=st.integers(-150, 150),
    tape=st.sampled_from(["I", "II", "III"]),
)
def test_every_measured_tenth_has_its_verdict(nominal, tolerance, off, tape):
    nominal_mm, tolerance_mm = nominal / 10, tolerance / 100
    measured_mm = max(1, nominal + off) / 10
    found = bands(nominal_mm=nominal_mm, tolerance_mm=tolerance_mm, tape=tape)
    said = verdict(measured_mm=measured_mm, nominal_mm=nominal_mm, tolerance_mm=tolerance_mm, tape=tape)
    assert judged_by(found, measured_mm) == said


@pytest.mark.parametrize("nominal_mm", [0.3, 1])
def test_no_band_holds_a_length_of_nothing(nominal_mm):
    assert min(band.from_mm for band in bands(nominal_mm=nominal_mm, tolerance_mm=2)) > 0


@pytest.mark.parametrize(
    ("nominal_mm", "tolerance_mm", "tape", "shortest_mm", "longest_mm"),
    [
        # A tape errs by 0.5 in class II and by 1 in class III over one metre; lengths are looked at from 0.1 on.
        (9.5, 9, "II", 0.1, 19),
        (11, 0.9, "II", 9.6, 12.4),
        (10.5, 0.5, "II", 9.5, 11.5),
        (0.1, 2, "II", 0.1, 2.6),
        (2, 0.05, "III", 1, 3),
    ],
)
def test_the_bands_reach_from_the_shortest_to_the_longest_that_is_not_outside(
    nominal_mm, tolerance_mm, tape, shortest_mm, longest_mm
):
    found = bands(nominal_mm=nominal_mm, tolerance_mm=tolerance_mm, tape=tape)
    assert (found[0].from_mm, found[-1].to_mm) == (shortest_mm, longest_mm)
