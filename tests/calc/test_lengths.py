"""The lengths that parts can come to: which sizes an order reaches, and where a class has no tolerance for a cut."""

from dataclasses import replace
from fractions import Fraction

import pytest

from calc.breaches import breaches, broken
from calc.lengths import Cut, Sizes, loop_cuts, measured_cuts, pieces
from calc.system import DEMO_38


def hundredths(number):
    return Fraction(number, 100)


def sizes(least_mm, most_mm, clearance_mm=10):
    return Sizes(least_mm=least_mm, most_mm=most_mm, clearance_mm=clearance_mm)


@pytest.mark.parametrize(
    ("least_mm", "most_mm", "clearance_mm", "first_mm", "last_mm"),
    [
        (350, 5800, 10, 350, 5800),
        # An exact size is in tenths; a recess less a clearance in tenths is too.
        (hundredths(35001), hundredths(579999), 10, hundredths(35010), hundredths(579990)),
        # A recess of 360 less 9.97 is 350.03, and every tenth more.
        (hundredths(35001), hundredths(579999), hundredths(997), hundredths(35003), hundredths(579993)),
        (hundredths(35004), hundredths(579992), hundredths(997), hundredths(35010), hundredths(579990)),
        (hundredths(35003), hundredths(35003), hundredths(997), hundredths(35003), hundredths(35003)),
    ],
)
def test_the_first_and_last_size_that_an_order_can_come_to(least_mm, most_mm, clearance_mm, first_mm, last_mm):
    found = sizes(least_mm, most_mm, clearance_mm)
    assert found.first_mm == first_mm
    assert found.last() == last_mm


@pytest.mark.parametrize(
    ("above_mm", "next_mm"),
    [
        (0, 350),
        (349, 350),
        (350, hundredths(35003)),
        (hundredths(35002), hundredths(35003)),
        (hundredths(35003), hundredths(35010)),
        (hundredths(579992), hundredths(579993)),
        (hundredths(579993), 5800),
        (5800, None),
        (6000, None),
    ],
)
def test_the_next_size_above_a_length_is_a_tenth_or_a_recess_less_its_clearance(above_mm, next_mm):
    assert sizes(350, 5800, hundredths(997)).first_above(above_mm) == next_mm


@pytest.mark.parametrize(
    ("up_to_mm", "last_mm"),
    [
        (6000, 5800),
        (5800, 5800),
        (hundredths(579999), hundredths(579993)),
        (hundredths(579993), hundredths(579993)),
        (hundredths(579992), hundredths(579990)),
        (hundredths(35002), 350),
        (350, 350),
        (hundredths(34999), None),
    ],
)
def test_the_last_size_up_to_a_length_is_a_tenth_or_a_recess_less_its_clearance(up_to_mm, last_mm):
    assert sizes(350, 5800, hundredths(997)).last_to(up_to_mm) == last_mm


def test_a_range_between_two_tenths_holds_no_size():
    assert sizes(hundredths(35001), hundredths(35009)).last() is None


def test_the_parts_that_a_tape_is_held_to_are_as_short_and_long_as_the_demo_systems_range_makes_them():
    # Rail: 350 and 5800 less two covers of 3; tilt rod 9 less again. Vane: 300 and 4000 less 42, and 25 + 45 more.
    assert list(measured_cuts(DEMO_38)) == [
        Cut("rail", "rail_class", 344, 5794),
        Cut("tilt rod", "tilt_rod_class", 335, 5785),
        Cut("vane", "vane_class", 328, 4028),
        *(Cut("spacer tube", "spacer_tube_class", tube_mm, tube_mm) for tube_mm in (20, 25, 30, 40, 45, 50)),
    ]


def test_a_vane_as_cut_is_the_drop_less_what_hangs_above_it_with_both_hems():
    # 300 - 50 + 25 + 45 and 4000 - 50 + 25 + 45.
    vane = next(cut for cut in measured_cuts(replace(DEMO_38, drop_loss_mm=50)) if cut.part == "vane")
    assert (vane.least_mm, vane.most_mm) == (320, 4020)


def test_a_part_is_no_shorter_and_no_longer_than_an_order_can_come_to():
    odd = replace(DEMO_38, min_width_mm=hundredths(35001), max_width_mm=hundredths(579999))
    assert next(measured_cuts(odd)) == Cut("rail", "rail_class", hundredths(34410), hundredths(579390))


def test_chain_and_cord_are_as_short_and_long_as_what_may_be_asked_for():
    # Cord, twice rail and drop: 2 x (344 + 100 + 0) without, and 2 x (5794 + 5000 + 20) with a tensioner.
    assert list(loop_cuts(DEMO_38)) == [Cut("chain", "chain_class", 100, 5000), Cut("cord", "cord_class", 888, 21628)]
    over = replace(DEMO_38, cord_over_chain_breakaway_mm=5, cord_over_chain_weight_mm=40)
    assert list(loop_cuts(over))[1] == Cut("cord", "cord_class", 2 * (344 + 100 + 5), 2 * (5794 + 5000 + 40))


@pytest.mark.parametrize(
    ("least_mm", "most_mm", "by_metre", "expected"),
    [
        # ISO 2768-1: 400, 1000, 2000, 4000; a tape errs more with each metre begun.
        (344, 5794, False, [(344, 400), (400, 1000), (1000, 2000), (2000, 4000), (4000, 5794)]),
        (344, 2500, True, [(344, 400), (400, 1000), (1000, 2000), (2000, 2500)]),
        (1500, 4028, True, [(1500, 2000), (2000, 3000), (3000, 4000), (4000, 4028)]),
        (1500, hundredths(300050), True, [(1500, 2000), (2000, 3000), (3000, hundredths(300050))]),
        (1000, 3000, True, [(1000, 2000), (2000, 3000)]),
        (400, 1000, False, [(400, 1000)]),
        (25, 25, True, [(25, 25)]),
    ],
)
def test_a_length_falls_into_pieces_where_a_tolerance_or_the_tape_changes(least_mm, most_mm, by_metre, expected):
    assert list(pieces(least_mm, most_mm, by_metre=by_metre)) == expected


# ISO 2768-1 gives class f nothing from 2000 to 4000; the demo system gives it nothing above 4000 either.
@pytest.mark.parametrize(
    ("changes", "part", "blind"),
    [
        ({"rail_class": "f", "above_4000_f_mm": 1}, "rail of 2000 mm to 4000 mm", {"finished_width_mm": 4006}),
        ({"tilt_rod_class": "f", "above_4000_f_mm": 1}, "tilt rod of 2000 mm to 4000 mm", {"finished_width_mm": 4015}),
        ({"vane_class": "f", "above_4000_f_mm": 1}, "vane of 2000 mm to 4000 mm", {"finished_drop_mm": 3972}),
        ({"chain_class": "f", "above_4000_f_mm": 1}, "chain of 2000 mm to 4000 mm", None),
        ({"cord_class": "f", "above_4000_f_mm": 1}, "cord of 2000 mm to 4000 mm", None),
        ({"above_4000_m_mm": None, "tilt_rod_class": "c"}, "rail of 4000 mm to 5794 mm", {"finished_width_mm": 5800}),
        ({"above_4000_c_mm": None}, "vane of 4000 mm to 4028 mm", {"finished_drop_mm": 4000}),
        # In a system made in one width the one rail has one length.
        (
            {"rail_class": "f", "min_width_mm": 2006 + hundredths(10), "max_width_mm": 2006 + hundredths(10)},
            "rail of 2000.1 mm",
            {"finished_width_mm": 2006 + hundredths(10)},
        ),
    ],
)
def test_a_length_without_a_tolerance_is_shown_by_a_blind_that_has_it(changes, part, blind):
    (breach,) = broken(replace(DEMO_38, **changes))
    assert breach.message.startswith(f"{part}: ")
    assert breach.blind == blind


def test_a_length_that_no_order_can_come_to_needs_no_tolerance():
    # A rail of 2000.05 would want a blind of 2006.05: in tenths that is 2006, whose rail of 2000 class f still has.
    odd = replace(DEMO_38, rail_class="f", max_width_mm=hundredths(200605))
    assert breaches(odd) == []
    # Less a clearance of 9.95 a recess of 2016 comes to just that.
    assert [breach.split(":")[0] for breach in breaches(replace(odd, recess_width_clearance_mm=hundredths(995)))] == [
        "rail of 2000 mm to 2000.05 mm"
    ]


def with_short_tubes():
    """A tube of 0.2 on a split blind of 127, none at the lead end of a reverse one of 89; the insets make up for it."""
    system = replace(DEMO_38, control_inset_mm=62, idle_inset_mm=62)
    return replace(
        system,
        vane_89=replace(system.vane_89, lead_tube_reverse_mm=0),
        vane_127=replace(system.vane_127, anchored_tube_split_mm=hundredths(20)),
    )


def test_a_tube_shorter_than_the_standards_table_is_shown_by_its_draw_and_vane_width():
    # ISO 2768-1 begins at 0.5 mm.
    nothing, short = broken(with_short_tubes())
    assert nothing.message == (
        "spacer tube of 0 mm: a tube without length gives no tolerance to the gap check; make it at least 0.5 mm"
    )
    assert nothing.blind == {"vane_width_mm": 89, "draw": "reverse"}
    assert short.message == (
        "spacer tube of 0.2 mm: spacer_tube_class c gives no tolerance at that length; pick another class"
    )
    assert short.blind == {"vane_width_mm": 127, "draw": "split"}


def test_a_tolerance_that_is_missing_above_4000_says_where_the_table_stops():
    (breach,) = breaches(replace(DEMO_38, above_4000_c_mm=None))
    assert breach.endswith("above_4000_c_mm is not given and the standard's table stops at 4000; give it")
