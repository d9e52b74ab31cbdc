"""The drawing of a headrail: its parts where its figures say, its words legible, its marks as many as its carriers."""

import os
import re
import xml.etree.ElementTree as ET
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest
from django.utils import translation
from hypothesis import given, settings
from hypothesis import strategies as st

from calc.components import components
from production import drawing
from production.drawing import geometry
from production.drawing.pen import text_width
from production.drawing.sheet import SHEETS
from script.messages import languages
from tests.headrails import SVG, WAND, blind, blinds, laid, marked, svg, unhurried

pytestmark = pytest.mark.once

APPROVED = Path(__file__).parents[2] / "fixtures" / "approved" / "drawings"
REVERSE_RIGHT = {"draw": "reverse", "hand": "right"}
SIZES = ("ticket", "station", "desk")


def close(value, figure):
    """Equal, as far as a figure of four places can say."""
    return abs(value - Fraction(str(figure))) <= Fraction(1, 20000)


# Where the parts stand


@unhurried
@given(blinds(), st.sampled_from(geometry.STATES))
def test_the_parts_lie_end_to_end_and_add_up_to_the_finished_width(blind, state):
    pieces = laid(blind, state).pieces
    assert pieces[0].left == 0
    assert all(one.right == after.left for one, after in pairwise(pieces))
    assert all(piece.length > 0 for piece in pieces)
    assert sum(piece.length for piece in pieces) == Fraction(str(blind[1]["finished_width_mm"]))


@unhurried
@given(blinds())
def test_the_closed_carriers_stand_at_the_closed_pitch(blind):
    closed, figures = laid(blind, "closed"), blind[1]
    for hand in closed.bunch_hands:
        axes = [carrier.axis for carrier in closed.bunch(hand)]
        assert all(close(b - a, figures["closed_pitch_mm"]) for a, b in pairwise(axes))
    if figures["centre_spacing_mm"] is not None:
        near, far = closed.leads
        assert close(far.axis - near.axis, figures["centre_spacing_mm"])


@unhurried
@given(blinds())
def test_neighbouring_vanes_overlap_by_the_overlap(blind):
    closed, figures = laid(blind, "closed"), blind[1]
    first, second = closed.carriers[:2]
    if first.hand == second.hand:
        assert close(closed.vane_width - (second.axis - first.axis), figures["overlap_mm"])


@unhurried
@given(blinds())
def test_the_drawn_bunches_cover_the_stack(blind):
    drawn, figures = laid(blind, "drawn"), blind[1]
    for hand in ("left", "right"):
        bunch, stack = drawn.bunch(hand), figures["stack_mm"][hand]
        assert bool(bunch) == (stack is not None)
        if bunch:
            edge = bunch[-1].right if hand == "left" else drawn.width - bunch[0].left
            assert close(edge, stack)


@unhurried
@given(blinds())
def test_the_clear_gap_is_the_gap_check(blind):
    bench, figures = laid(blind, "gap_check"), blind[1]
    assert close(bench.gap.length, figures["gap_check_mm"])
    for hand in bench.bunch_hands:
        assert sum(carrier.held for carrier in bench.bunch(hand)) == figures["gap_check_held"]


@unhurried
@given(blinds(), st.sampled_from(geometry.STATES))
def test_carriers_are_as_many_of_each_hand_as_the_figures_say(blind, state):
    built, carriers = laid(blind, state), blind[1]["carriers"]
    assert len(built.carriers) == carriers["total"]
    assert len(built.leads) == carriers["lead"] == len(built.stops)
    for hand in ("left", "right"):
        assert len(built.bunch(hand)) == carriers[hand]


@unhurried
@given(blinds())
def test_tubes_rail_rod_and_brackets_have_their_figures(blind):
    closed, figures = laid(blind, "closed"), blind[1]
    for side in ("left", "right"):
        assert close(closed.piece("spacer_tube", side=side).length, figures["spacer_tubes_mm"][side])
    assert close(closed.rail.length, figures["rail_cut_mm"])
    assert close(closed.rod.length, figures["tilt_rod_cut_mm"])
    assert len(closed.brackets) == figures["brackets"]


@unhurried
@given(blinds(), st.sampled_from(geometry.STATES))
def test_the_other_hand_is_the_mirror_image(blind, state):
    spec, _ = blind
    other = {**spec, "hand": geometry.OTHER[spec["hand"]]}
    mirrored = geometry.layout(spec=other, components=components(other), state=state).mirrored()
    assert mirrored == laid(blind, state)


def test_a_left_split_blind_as_a_maker_would_sketch_it():
    # The worked figures of the demo system: 1830 in a recess, 89 mm vanes; values invented with the system.
    closed = laid(blind(), "closed")
    parts = [piece.part for piece in closed.pieces if piece.part != "link"]
    assert parts[:3] == ["end_cover", "control_end_set", "spacer_tube"]
    assert parts[-3:] == ["spacer_tube", "idle_end_set", "end_cover"]
    assert closed.carriers[0].axis == Fraction("58.5")
    assert closed.carriers[-1].axis == 1820 - Fraction("51.5")
    assert [carrier.hand for carrier in closed.leads] == ["left", "right"]


def test_a_stop_stands_on_the_middle_side_of_each_anchored_carrier():
    closed = laid(blind(), "closed")
    assert closed.stops == (closed.carriers[0].right, closed.carriers[-1].left)


@pytest.mark.parametrize(
    ("draw", "hand", "gathers"),
    [
        ("one_way", "left", "left"),
        ("one_way", "right", "right"),
        ("reverse", "left", "right"),
        ("reverse", "right", "left"),
    ],
)
def test_one_bunch_gathers_at_its_own_end(draw, hand, gathers):
    drawn = laid(blind(draw=draw, hand=hand), "drawn")
    assert drawn.bunch_hands == (gathers,)
    middle = drawn.width / 2
    assert all((carrier.axis < middle) == (gathers == "left") for carrier in drawn.carriers)


def test_a_wand_blind_has_idle_end_sets_at_both_ends():
    closed = laid(blind(**WAND), "closed")
    assert closed.controls is None
    assert {piece.part for piece in closed.pieces} >= {"idle_end_set"}
    assert "control_end_set" not in {piece.part for piece in closed.pieces}


# What is drawn


def views(blind):
    return drawing.views_of(spec=blind[0])


def text_boxes(root):
    """Left, top, right and bottom of each text, by a safe estimate of its width."""
    for text in root.iter(f"{SVG}text"):
        size, x, y = (float(text.get(name)) for name in ("font-size", "x", "y"))
        wide = text_width(text.text, size=size, bold=text.get("font-weight") == "700")
        left = x - {"start": 0, "middle": wide / 2, "end": wide}[text.get("text-anchor")]
        yield text.text, left, y - size * 0.72, left + wide, y + size * 0.05


@pytest.mark.parametrize("language", ["en-gb", *languages()])
@settings(unhurried, max_examples=60)
@given(blinds())
def test_no_words_run_into_each_other_or_off_the_sheet(language, blind):
    for size in SIZES:
        for view in views(blind):
            with translation.override(language):
                root = ET.fromstring(svg(blind, size=size, view=view))  # noqa: S314
            _, _, width, height = map(float, root.get("viewBox").split())
            boxes = list(text_boxes(root))
            for place, (words, left, top, right, bottom) in enumerate(boxes):
                on_sheet = left >= -1 and right <= width + 1 and top >= -1 and bottom <= height
                assert on_sheet, (size, view, words)
                for other, a, b, c, d in boxes[place + 1 :]:
                    clash = min(right, c) - max(left, a) > 1 and min(bottom, d) - max(top, b) > 1
                    assert not clash, (size, view, words, other)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("hand", ["left", "right"])
def test_a_loop_s_length_leaves_a_gap_to_the_blind_however_many_digits_it_has(size, hand):
    spec, figures = blind(hand=hand)
    drawn = spec, figures | {"chain_drop_mm": 2041.5, "cord_drop_mm": 2061.5}
    lengths = {"2041.5", "2061.5"}
    sheet = SHEETS[size]
    root = ET.fromstring(svg(drawn, size=size, view="closed"))  # noqa: S314
    found = [(left, right) for words, left, _, right, _ in text_boxes(root) if words in lengths]
    assert len(found) == 2
    for left, right in found:
        gap = sheet.loop_margin - right if hand == "left" else left - (sheet.width - sheet.loop_margin)
        assert gap >= 2


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("hand", ["left", "right"])
def test_a_drop_in_tenths_of_a_millimetre_stays_on_the_sheet(size, hand):
    spec, figures = blind(hand=hand)
    drawn = spec, figures | {"finished_drop_mm": 3588.5}
    root = ET.fromstring(svg(drawn, size=size, view="closed"))  # noqa: S314
    (found,) = [(left, right) for words, left, _, right, _ in text_boxes(root) if words == "3588.5"]
    assert found[0] >= 0
    assert found[1] <= SHEETS[size].width


@settings(unhurried, max_examples=40)
@given(blinds())
def test_as_many_marks_as_carriers_each_at_its_place(blind):
    root = ET.fromstring(svg(blind, size="station"))  # noqa: S314
    carriers = blind[1]["carriers"]
    for hand in ("left", "right"):
        assert len(marked(root, f"carrier-{hand}")) == carriers[hand]
    assert len(marked(root, "carrier-lead")) == carriers["lead"]


@settings(unhurried, max_examples=40)
@given(blinds())
def test_every_touchable_figure_is_a_figure_with_working(blind):
    known = {entry["name"] for entry in blind[1]["working"]}
    for view in views(blind):
        named = set(re.findall(r'data-figure="([^"]+)"', svg(blind, size="ticket", view=view)))
        assert named
        assert named <= known


@pytest.mark.parametrize("size", SIZES)
def test_the_closed_view_carries_the_sizes_to_cut(size):
    drawn = svg(blind(), size=size)
    for figure in ("1820", "1814", "1588", "76.8", "12.2", "12 L", "12 R", "978", "998"):
        assert f">{figure}</text>" in drawn


def test_the_gap_check_carries_its_tolerance_and_what_is_held():
    spec, figures = blind()
    drawn = svg((spec, figures), size="station", view="gap_check")
    worst = figures["tolerances_mm"]["gap_check_mm"]["worst_case"]
    assert f">63 ± {worst:g}</text>" in drawn
    assert drawn.count(">hold 2</text>") == 2


@pytest.mark.parametrize(("draw", "clamps"), [("one_way", 5), ("reverse", 5), ("split", 6)])
def test_the_cord_is_clamped_at_each_lead_carrier(draw, clamps):
    drawn = svg(blind(draw=draw), size="station", view="cord")
    assert f">{clamps}</text>" in drawn
    assert f">{clamps + 1}</text>" not in drawn


def test_a_drawing_has_no_inline_style_and_nothing_a_strict_policy_would_stop():
    for size in SIZES:
        for view in views(blind()):
            drawn = svg(blind(), size=size, view=view)
            assert not re.search(r"\sstyle=|<style|<script|\son\w+=|\sid=|href", drawn)


def test_a_drawing_says_what_it_is_to_those_who_do_not_see_it():
    root = ET.fromstring(svg(blind(), size="desk", view="gap_check"))  # noqa: S314
    assert root.get("role") == "img"
    assert root.find(f"{SVG}title").text == "The gap check"
    assert "left hand, split draw, 89 mm vanes" in root.find(f"{SVG}desc").text


def test_hands_are_told_without_colour():
    colours = set(re.findall(r'(?:fill|stroke)="([^"]+)"', svg(blind(), size="station")))
    assert colours == {"none", "currentColor", "#fff"}


# What is refused


def test_a_wand_blind_has_no_cord_to_draw():
    assert "cord" not in drawing.views_of(spec=blind(**WAND)[0])
    with pytest.raises(ValueError, match="not 'cord'"):
        svg(blind(**WAND), view="cord")


def test_a_refused_size_has_no_headrail_to_draw():
    with pytest.raises(ValueError, match="size was refused"):
        svg(blind(width_mm=200, size_basis="exact"))


@pytest.mark.parametrize("how", [{"size": "poster"}, {"view": "sideways"}])
def test_a_drawing_of_another_kind_is_refused(how):
    with pytest.raises(ValueError, match="not '"):
        svg(blind(), **how)


def test_figures_without_their_working_are_refused():
    spec, figures = blind()
    with pytest.raises(ValueError, match="Compute it again"):
        svg((spec, {**figures, "working": []}))


def test_a_refused_loop_is_drawn_without_its_lengths():
    drawn = svg(blind(market="canada"), size="desk")
    assert ">chain</text>" not in drawn


# The approved pictures: with APPROVE=1 set, they are written anew, to be looked at before they are committed.


@pytest.mark.parametrize(
    ("name", "changes", "how"),
    [
        ("split-left-closed-station", {}, {"size": "station"}),
        ("split-left-gap-check-station", {}, {"size": "station", "view": "gap_check"}),
        ("split-left-ends-ticket", {}, {"size": "ticket", "view": "ends"}),
        ("split-left-cord-ticket", {}, {"size": "ticket", "view": "cord"}),
        ("reverse-right-drawn-station", REVERSE_RIGHT, {"size": "station", "view": "drawn"}),
        ("wand-one-way-right-closed-desk", {**WAND, "draw": "one_way", "hand": "right"}, {"size": "desk"}),
        ("narrow-127-closed-desk", {"width_mm": 360, "vane_width_mm": 127}, {"size": "desk"}),
        ("split-left-above-closed-station", {}, {"size": "station", "view": "above_closed"}),
        ("reverse-right-above-drawn-station", REVERSE_RIGHT, {"size": "station", "view": "above_drawn"}),
        ("split-left-cord-station", {}, {"size": "station", "view": "cord"}),
        ("widest-split-right-closed-ticket", {"width_mm": 5810, "hand": "right"}, {"size": "ticket"}),
    ],
)
def test_the_approved_pictures_have_not_changed(name, changes, how):
    drawn = svg(blind(**changes), **how).replace("><", ">\n<") + "\n"
    picture = APPROVED / f"{name}.svg"
    if os.environ.get("APPROVE"):
        picture.write_text(drawn, encoding="utf-8")
    assert picture.read_text(encoding="utf-8") == drawn
