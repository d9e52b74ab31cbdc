"""Publishing a system says where the workshop's tape can decide nothing."""

from dataclasses import replace
from fractions import Fraction

from calc.cautions import cautions
from calc.system import DEMO_38


def test_a_class_ii_tape_can_decide_on_no_short_tube_and_on_no_rail_up_to_400_of_the_demo_system():
    # ISO 2768-1: c over 6 to 30 is 0.5, m over 120 to 400 is 0.5; the tape's error over one metre is 0.3 + 0.2 = 0.5.
    # Tubes of 40, 45 and 50 have 0.8, rails over 400 have 0.8 and vanes, class c, at least 1.2: all more than 0.5.
    said = "a class II tape errs by 0.5 mm and the tolerance is 0.5 mm"
    rest = "so it can decide nothing; measure with a better instrument"
    assert cautions(DEMO_38) == [
        f"rail of 344 mm to 400 mm: {said} (class m), {rest}",
        f"tilt rod of 335 mm to 400 mm: {said} (class m), {rest}",
        f"spacer tube of 20 mm: {said} (class c), {rest}",
        f"spacer tube of 25 mm: {said} (class c), {rest}",
        f"spacer tube of 30 mm: {said} (class c), {rest}",
    ]


def test_a_class_i_tape_decides_on_every_part():
    # Class I errs by 0.1 + 0.1 a metre begun: 0.2 over one metre, under every tolerance of the demo system.
    assert cautions(replace(DEMO_38, tape_class="I")) == []


def test_a_class_iii_tape_is_cautioned_against_metre_by_metre():
    # 0.6 + 0.4 a metre begun: 1.4 over two, above m's 1.2 for 1000 to 2000; 1.8 over three is under m's 2 for 2000 up;
    # 2.2 over four is above it; over five and six 2.6 and 3.0 against 3.
    said = cautions(replace(DEMO_38, tape_class="III"))
    rails = [line.split(":")[0] for line in said if line.startswith("rail")]
    assert rails == [
        "rail of 344 mm to 400 mm",
        "rail of 400 mm to 1000 mm",
        "rail of 1000 mm to 2000 mm",
        "rail of 3000 mm to 4000 mm",
        "rail of 5000 mm to 5794 mm",
    ]


def test_a_gap_check_no_larger_than_its_tolerance_is_cautioned_against():
    # Split, 89 mm: the ends take 27 + 25 + 6.5 and 20 + 25 + 6.5, so 5790.1 leaves a span of 5680.1, just past 71 links
    # of 80: 74 carriers, 37 a side. Gap 5680.1 - 2 x (35 x 80 + 13) - 21 = 33.1; rail 3, tubes 0.5 each, 70 links of 1.
    loose = replace(DEMO_38, link_tolerance_mm=1)
    said = [line for line in cautions(loose) if line.startswith("89 mm vanes, split:")]
    assert said == [
        "89 mm vanes, split: at a finished width of 5790.1 mm the gap check is 33.1 mm and its tolerance 74 mm, so a "
        "right count can show no gap; count by another person, or lengthen link_pitch_mm 80 mm"
    ]
    # 127: at least 117 - 2 x 13 - 21 = 70 is left, and 46 links of 1 with rail and tubes of 0.8 come to 50.6.
    assert not any("127 mm vanes, split" in line for line in cautions(loose))


def test_one_bunch_is_cautioned_against_where_two_held_first_prove_its_count():
    # One way, 89 mm: the ends take 27 + 25 + 6.5 and 20 + 20 + 10.5, so 5737 leaves a span of 5628: 72 carriers. Two
    # held and 70 links of 80 drawn out leave 5628 - 5600 - 13 = 15. Rail 3, tubes 0.5 each, 70 links of 0.2.
    loose = replace(DEMO_38, link_tolerance_mm=Fraction(2, 10))
    said = [line for line in cautions(loose) if line.startswith("89 mm vanes, one way:")]
    assert said == [
        "89 mm vanes, one way: at a finished width of 5737 mm the gap check is 15 mm and its tolerance 18 mm, so a "
        "right count can show no gap; count by another person, or lengthen link_pitch_mm 80 mm"
    ]


def test_wider_vanes_are_looked_at_too():
    # One way, 127 mm: the ends take 27 + 45 + 6.5 and 20 + 40 + 10.5, so 5793 leaves 5644, 48 x 117 + 13 + 15. Rail 3,
    # tubes 0.8 each, 48 links of 1.
    (said,) = [
        line for line in cautions(replace(DEMO_38, link_tolerance_mm=1)) if line.startswith("127 mm vanes, one way:")
    ]
    assert "at a finished width of 5793 mm the gap check is 15 mm and its tolerance 52.6 mm" in said


def test_a_gap_check_as_large_as_its_tolerance_can_show_no_gap():
    # As above with 70 x 0.15 = 10.5: 14.5 with a rail of 3, 15 with one of 3.5.
    def said(rail_mm):
        return [line for line in cautions(replace(DEMO_38, above_4000_m_mm=rail_mm)) if "89 mm vanes, one way:" in line]

    assert len(said(Fraction(35, 10))) == 1
    assert said(Fraction(34, 10)) == []


def test_a_gap_check_is_looked_at_where_the_rails_tolerance_steps_up():
    # A rail of 4000 has 2. At 3977 the span is 3868, 48 x 80 + 13 + 15: gap 15, tolerance 2 + 0.5 + 0.5 + 48 x 0.3.
    # At 4006.1 the rail is just above 4000 and has 33.6: gap 44.1, tolerance 49, which leaves less.
    loose = replace(DEMO_38, link_tolerance_mm=Fraction(3, 10), above_4000_m_mm=Fraction(336, 10))

    def said(widest_mm):
        (line,) = [
            one for one in cautions(replace(loose, max_width_mm=widest_mm)) if one.startswith("89 mm vanes, one way:")
        ]
        return line

    assert "a finished width of 3977 mm the gap check is 15 mm and its tolerance 17.4 mm" in said(4006)
    assert "a finished width of 4006.1 mm the gap check is 44.1 mm and its tolerance 49 mm" in said(4010)


def test_links_with_the_play_of_the_demo_system_prove_every_count():
    assert not any("gap check" in line for line in cautions(DEMO_38))
