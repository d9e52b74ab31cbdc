"""A row at a finished width is what the calculation makes of that blind, and is refused where it can't be built."""

from dataclasses import replace
from fractions import Fraction

import pytest

from calc.components import components
from calc.rounding import json_number
from calc.system import DEMO_38
from calc.widths import CASES, row_at, row_breaches

TENTH = Fraction(1, 10)
PLAIN = {
    "system": "demo-38",
    "drop_mm": 1500,
    "size_basis": "exact",
    "hand": "left",
    "chain": "plastic",
    "loop_control": "tensioner",
    "market": "en13120",
    "fabric_g_per_m2": 100,
}


def case_of(draw, operation="cord_chain"):
    return next(case for case in CASES if (case.draw, case.operation) == (draw, operation))


def with_89(system=DEMO_38, **parts):
    return replace(system, vane_89=replace(system.vane_89, **parts))


def said_of(words, system):
    """What goes wrong with a row for vanes of 89 mm, `words` being its draw and operation."""
    found = row_breaches(system, 89, system.vane_89)
    return [one for one in found if one.message.startswith(f"89 mm vanes, {words}: ")]


def test_the_cases_are_every_draw_with_every_operation_that_it_is_made_with():
    assert {(case.draw, case.operation) for case in CASES} == {
        (draw, operation) for draw in ("one_way", "reverse", "split") for operation in ("cord_chain", "wand")
    } - {("reverse", "wand")}


def test_a_fouling_vane_is_said_to_stand_at_its_end():
    ends = {case.words: [end.where for end in case.ends] for case in CASES}
    assert ends == {
        "one way": ["anchored end", "lead end"],
        "reverse": ["anchored end", "lead end"],
        "one way with a wand": ["anchored end", "lead end"],
        "split": ["control end", "idle end"],
        "split with a wand": ["idle end", "idle end"],
    }


# 1820 split is the trade's example; the widths about it fall on both sides of the steps of each draw.
@pytest.mark.parametrize("width_mm", [350, 430, Fraction(4301, 10), 511, 598, 704, 1500, 1740, 1820, 5800])
@pytest.mark.parametrize("vane_width_mm", [89, 127])
@pytest.mark.parametrize("case", CASES, ids=lambda case: case.words)
def test_a_row_is_what_the_calculation_makes_of_that_blind(case, vane_width_mm, width_mm):
    blind = PLAIN | case.blind(vane_width_mm=vane_width_mm, width_mm=width_mm)
    blind["width_mm"] = json_number(blind.pop("finished_width_mm"))
    answer = components(blind)
    row = row_at(DEMO_38, DEMO_38.parts(vane_width_mm=vane_width_mm), case, width_mm)
    assert (row.width_mm, row.total) == (width_mm, answer["carriers"]["total"])
    assert row.each == max(answer["carriers"]["left"], answer["carriers"]["right"])
    assert row.links == row.total - answer["carriers"]["lead"] * answer["gap_check_held"]
    assert json_number(row.gap_mm) == answer["gap_check_mm"]
    assert json_number(row.closed_pitch_mm) == answer["closed_pitch_mm"]


@pytest.mark.parametrize(
    ("words", "too_narrow_mm", "says"),
    [
        # One way the ends take 27 + 25 + 6.5 and 20 + 20 + 10.5 = 109: two carriers need any span at all.
        ("one way", 109, "stand 0 mm apart, so that a bunch has fewer than two; they need more than 0 mm: raise"),
        ("one way", 100, "stand -9 mm apart, so that a bunch has fewer than two; they need more than 0 mm: raise"),
        # Split 27 + 25 + 6.5 and 20 + 25 + 6.5 = 110: two a side need more than one link of 80.
        ("split", 190, "stand 80 mm apart, so that a bunch has fewer than two; they need more than 80 mm: raise"),
    ],
)
def test_a_range_that_starts_too_narrow_for_two_carriers_a_bunch_is_shown_at_its_start(words, too_narrow_mm, says):
    found = said_of(words, replace(DEMO_38, min_width_mm=too_narrow_mm))
    assert f"at a finished width of {too_narrow_mm} mm the outermost carriers {says}" in found[0].message
    assert found[0].blind["finished_width_mm"] == too_narrow_mm
    short_mm = {109: 0, 100: 9, 190: 0}[too_narrow_mm]
    assert found[0].message.endswith(f"raise min_width_mm by over {short_mm} mm")


@pytest.mark.parametrize(("words", "least_mm"), [("one way", 109), ("split", 190)])
def test_a_tenth_more_makes_room_for_two_carriers_a_bunch(words, least_mm):
    found = said_of(words, replace(DEMO_38, min_width_mm=least_mm + TENTH))
    assert not any("fewer than two" in breach.message for breach in found)


def test_a_range_that_starts_too_narrow_is_also_shown_where_the_first_two_carriers_leave_no_gap():
    # At 109.1 the span is 0.1 and the two, close up, take 17.
    narrow, no_gap, touching = said_of("one way", replace(DEMO_38, min_width_mm=100))
    assert narrow.blind["finished_width_mm"] == 100
    assert "at a finished width of 109.1 mm the gap check of a right count comes to -16.9 mm" in no_gap.message
    assert "at a finished width of 109.1 mm 2 carriers stand 0.1 mm apart when closed, 16.9 mm less" in touching.message


def test_a_range_wholly_too_narrow_is_said_once_for_each_case():
    assert len(said_of("split", replace(DEMO_38, min_width_mm=150, max_width_mm=190))) == 1


def test_a_bunch_of_two_needs_a_gap_of_15():
    # One way at 141 the span is 32; carrier and lead carrier close up take 17 and leave 15, at 140.9 it is 14.9.
    assert said_of("one way", replace(DEMO_38, min_width_mm=141)) == []
    (breach,) = said_of("one way", replace(DEMO_38, min_width_mm=141 - TENTH))
    assert "the gap check of a right count comes to 14.9 mm with link_pitch_mm 80 mm" in breach.message
    assert "0.1 mm under the 15 mm that prove a count" in breach.message


def test_one_bunch_past_its_steps_needs_a_link_of_two_carriers_and_a_gap_of_15():
    # Just past a step the gap is the pitch less two carrier bodies: 41 - 26 = 15; the next width in tenths adds 0.1.
    assert said_of("one way", with_89(link_pitch_mm=41 - TENTH)) == []
    (breach,) = said_of("one way", with_89(link_pitch_mm=41 - 2 * TENTH))
    assert "comes to 14.9 mm" in breach.message
    # 109 and 6 links of 40.8 are 353.8, the first step past the narrowest width.
    assert breach.blind["finished_width_mm"] == Fraction(3539, 10)


def test_a_row_is_worst_at_the_width_that_lies_least_past_a_step():
    # Links of 40.85: past 109 and 7 of them, 394.95, lies 395; past 109 and 6, 354.1, lies 354.2.
    system = with_89(link_pitch_mm=Fraction(4085, 100))
    (breach,) = said_of("one way", system)
    assert "395 mm the gap check of a right count comes to 14.9 mm" in breach.message


def test_a_split_blind_shows_a_gap_however_small():
    # 47 less two carrier bodies and a lead body is nothing; the next width in tenths makes it 0.1.
    assert said_of("split", with_89(link_pitch_mm=47)) == []
    (breach,) = said_of("split", with_89(link_pitch_mm=47 - TENTH))
    assert "comes to 0 mm" in breach.message
    assert "and shows no gap: it must be above 0 mm" in breach.message
    assert breach.blind["draw"] == "split"
    (breach,) = said_of("split", with_89(link_pitch_mm=46))
    assert "comes to -0.9 mm" in breach.message


def with_long_leads(pitch_mm):
    # One way the ends take 27 + 25 + 2 and 20 + 20 + 30: 124. Carrier and lead carrier close up take 32.
    return with_89(replace(DEMO_38, carrier_body_mm=4, lead_body_mm=60, min_width_mm=186), link_pitch_mm=pitch_mm)


def test_a_long_lead_carrier_touches_its_neighbour_where_three_are_closed():
    # Just past one link of 63.9 three carriers stand 64 / 2 = 32 apart; past one of 63.8, 31.95.
    assert said_of("one way", with_long_leads(64 - TENTH)) == []
    (breach,) = said_of("one way", with_long_leads(64 - 2 * TENTH))
    assert (
        "at a finished width of 187.9 mm 3 carriers stand 31.95 mm apart when closed, 0.05 mm less than "
        "carrier_body_mm 4 mm and lead_body_mm 60 mm take up"
    ) in breach.message
    assert breach.blind["finished_width_mm"] == Fraction(1879, 10)


def test_two_carriers_keep_apart_half_of_each_and_three_a_whole_body_too():
    # Carriers of 40 and lead carriers of 4: two stand (40 + 4) / 2 = 22 apart, the ends take 72 + 42 = 114. A span of
    # 37 leaves 37 - 22 = 15. Three need 40 each: just past a link of 80 they stand 40.05 apart, past 79.8 only 39.95.
    system = replace(DEMO_38, carrier_body_mm=40, lead_body_mm=4, min_width_mm=151)
    assert not any("apart when closed" in breach.message for breach in said_of("one way", system))
    found = said_of("one way", with_89(system, link_pitch_mm=80 - 2 * TENTH))
    assert any("3 carriers stand 39.95 mm apart when closed, 0.05 mm less" in breach.message for breach in found)


def test_a_blind_of_500_carriers_is_one_and_of_501_is_none():
    # One way 5800 leaves a span of 5691: 499 links of 11.41 reach it, and of 11.4 it takes 500. The other draws' spans
    # are shorter, and a split blind has an even number.
    def too_many(pitch_mm):
        found = row_breaches(DEMO_38, 89, with_89(link_pitch_mm=pitch_mm).vane_89)
        return {breach.message for breach in found if "a blind of more than 500 is none" in breach.message}

    assert not any("89 mm vanes, one way:" in message for message in too_many(Fraction(1141, 100)))
    (message,) = [message for message in too_many(Fraction(114, 10)) if "89 mm vanes, one way:" in message]
    assert message == (
        "89 mm vanes, one way: 501 carriers at 5800 mm; a blind of more than 500 is none: correct link_pitch_mm "
        "11.4 mm or max_width_mm"
    )
    assert len(too_many(1)) == len(CASES)
