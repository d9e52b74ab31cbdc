"""The built-in tables against the published ones, typed out apart in `published`."""

from fractions import Fraction

import pytest

from calc import safety
from calc.components import components
from calc.system import DEMO_38
from calc.tolerance import ISO_2768_HUNDREDTHS, can_decide, iso_2768_mm, tape_error_mm, verdict
from tests.calc.published import AUSTRALIA_LOOPS, EN_13120_LOOPS, ISO_2768_1, MID_TAPES, MID_VECTORS, NO_LOOP
from tests.calc.usual_blind import BLIND

CELLS = [(over, up_to, letter, cell) for (over, up_to), row in ISO_2768_1.items() for letter, cell in row.items()]
TENTH = Fraction(1, 10)


@pytest.mark.parametrize(("over", "up_to", "letter", "cell"), CELLS)
def test_a_length_has_the_tolerance_of_its_cell_of_iso_2768(over, up_to, letter, cell):
    published = None if cell is None else Fraction(cell)
    inside = (over + TENTH, Fraction(over + up_to) / 2, up_to)
    for length_mm in inside:
        assert iso_2768_mm(length_mm=length_mm, tolerance_class=letter) == published


@pytest.mark.parametrize("letter", "fmcv")
def test_the_table_begins_at_half_a_millimetre_and_stops_at_four_metres(letter):
    assert iso_2768_mm(length_mm=Fraction(49, 100), tolerance_class=letter) is None
    assert iso_2768_mm(length_mm=Fraction(40001, 10), tolerance_class=letter) is None
    least = ISO_2768_1[Fraction(1, 2), 3][letter]
    assert iso_2768_mm(length_mm=Fraction(1, 2), tolerance_class=letter) == (None if least is None else Fraction(least))


def test_there_are_as_many_classes_and_ranges_as_the_standard_has():
    assert set(ISO_2768_HUNDREDTHS) == {"f", "m", "c", "v"}
    assert {len(row) for row in ISO_2768_HUNDREDTHS.values()} == {len(ISO_2768_1)} == {8}


@pytest.mark.parametrize(
    ("width_mm", "source"),
    [
        # The rail is 6 shorter than the blind.
        (1500, "ISO 2768-1:1989 table 1, seen in two agreeing copies, class m"),
        (4006, "ISO 2768-1:1989 table 1, seen in two agreeing copies, class m"),
        (4006.1, "above 4000 mm the system states its own"),
        (5000, "above 4000 mm the system states its own"),
    ],
)
def test_a_tolerance_s_working_names_the_standard_only_where_its_table_has_it(width_mm, source):
    working = components(BLIND | {"width_mm": width_mm})["working"]
    (rail,) = [figure for figure in working if figure["name"] == "tolerances_mm.rail_cut_mm"]
    assert rail["source"] == f"{source}; {DEMO_38.said}"


@pytest.mark.parametrize("tape_class", MID_TAPES)
@pytest.mark.parametrize("metres", range(1, 31))
def test_a_tape_errs_by_a_and_b_for_each_metre_begun_and_c_from_the_hook(tape_class, metres):
    a, b, c = map(Fraction, MID_TAPES[tape_class])
    for length_mm in (1000 * metres - 999, 1000 * metres - 500, 1000 * metres):
        assert tape_error_mm(length_mm=length_mm, tape_class=tape_class) == a + b * metres
        assert tape_error_mm(length_mm=length_mm, tape_class=tape_class, from_hook=True) == a + b * metres + c


@pytest.mark.parametrize(("tape_class", "length_mm", "from_hook", "error_mm"), MID_VECTORS)
def test_a_tape_errs_as_the_vectors_worked_from_the_directive_say(tape_class, length_mm, from_hook, error_mm):
    found = tape_error_mm(length_mm=length_mm, tape_class=tape_class, from_hook=from_hook)
    assert found == Fraction(error_mm)


def test_a_gap_of_nothing_is_measured_with_the_tape_s_first_metre():
    assert tape_error_mm(length_mm=0) == Fraction("0.5")


@pytest.mark.parametrize(("loop_control", "height_mm", "longest_mm"), AUSTRALIA_LOOPS)
def test_a_loose_loop_in_australia_ends_above_1600(loop_control, height_mm, longest_mm):
    found = safety.longest_loop_mm(
        market="australia", loop_control=loop_control, finished_drop_mm=1500, installation_height_mm=height_mm
    )
    assert found == longest_mm
    if longest_mm is not None:
        assert height_mm - found > 1600


def test_a_loop_is_refused_outright_where_its_market_says_so_and_nowhere_else():
    refused = {
        (market, device, known): safety.loop_rule(market=market, loop_control=device, height_known=known).refusal
        for market in ("en13120", "australia", "canada", "usa")
        for device in ("tensioner", "breakaway", "weight")
        for known in (True, False)
    }
    assert {case: code for case, code in refused.items() if code} == NO_LOOP


@pytest.mark.parametrize(("loop_control", "height_mm", "drop_mm", "longest_mm"), EN_13120_LOOPS)
def test_a_loop_hangs_no_longer_than_en_13120_lets_it(loop_control, height_mm, drop_mm, longest_mm):
    found = safety.longest_loop_mm(
        market="en13120",
        loop_control=loop_control,
        finished_drop_mm=drop_mm,
        installation_height_mm=height_mm,
    )
    assert found == longest_mm


def test_the_unknown_height_rule_is_continuous_at_a_drop_of_2500():
    def longest(drop_mm):
        return safety.longest_loop_mm(market="en13120", loop_control="tensioner", finished_drop_mm=drop_mm)

    assert longest(Fraction(24999, 10)) == longest(2500) == 1000
    assert longest(Fraction(25001, 10)) - longest(2500) == TENTH


def test_every_market_has_a_rule_for_every_loop_control_whether_or_not_the_height_is_known():
    for market in ("en13120", "australia", "canada", "usa"):
        for loop_control in ("tensioner", "breakaway", "weight"):
            for height_known in (True, False):
                rule = safety.loop_rule(market=market, loop_control=loop_control, height_known=height_known)
                assert rule.market == market
                assert rule.source
                assert rule.verified.startswith("Verified")
                assert not (rule.limit and rule.refusal)


def test_no_two_rules_speak_of_the_same_loop():
    cases = [
        (rule.market, loop_control, known)
        for rule in safety.RULES
        for loop_control in rule.loop_controls
        for known in ((True, False) if rule.height_known is None else (rule.height_known,))
    ]
    assert len(cases) == len(set(cases)) == 4 * 3 * 2


def market_rule(**given):
    (note,) = [one for one in components(BLIND | given)["findings"] if one["code"] == "market_rule"]
    return note


@pytest.mark.parametrize(
    ("market", "says", "source"),
    [
        ("en13120", "not against the standard's own text", "EN 13120:2009+A1:2014"),
        ("australia", "regulator's quotation of s 6(1)(a)", "Safety Standard 2014, s 6(1)(a)"),
        ("canada", "the consolidated text of the regulations was read", "SOR/2019-97"),
        ("usa", "press release and a retailer's summary", "ANSI/WCMA A100.1-2022"),
    ],
)
def test_the_market_note_says_how_well_its_rule_is_verified_and_who_must_decide(market, says, source):
    for operation in ("cord_chain", "wand"):
        note = market_rule(market=market, operation=operation)
        assert says in note["message"]
        assert source in note["source"]
        assert "never certifies" in note["message"]
        assert "competent installer decide" in note["message"]


def test_the_australian_note_asks_for_a_fixing_that_holds_70_newtons_for_10_seconds():
    # Regulator's installation guide of November 2014: a cord guide must hold 70 N in any direction for 10 s.
    assert "70 N for 10 s in any direction" in market_rule(market="australia")["message"]


def test_a_wand_s_market_note_says_that_no_loop_hangs():
    for market in ("en13120", "australia", "canada", "usa"):
        message = market_rule(market=market, operation="wand")["message"]
        assert "no loop hangs" in message or "no cord or chain loop hangs" in message


def test_where_the_tape_errs_as_much_as_the_tolerance_it_can_decide_nothing():
    # ISO 2768-1 class c gives a tube of 25 mm 0.5, as much as a class II tape errs over a metre; a caliper does better.
    assert not can_decide(tolerance_mm=0.5, length_mm=25)
    assert can_decide(tolerance_mm=0.5, length_mm=25, tape=0.05)
    # A rail of 1814 has 1.2, and the tape errs by 0.7.
    assert can_decide(tolerance_mm=1.2, length_mm=1814)


@pytest.mark.parametrize("off_tenths", range(-40, 41))
def test_a_verdict_depends_on_how_far_off_the_value_is_not_on_which_side(off_tenths):
    def judged(off):
        return verdict(measured_mm=1500 + off, nominal_mm=1500, tolerance_mm=Fraction(12, 10))

    off = Fraction(off_tenths, 10)
    published = "within" if abs(off) <= 0.5 else "outside" if abs(off) > Fraction(19, 10) else "doubtful"
    assert judged(off) == judged(-off) == published
