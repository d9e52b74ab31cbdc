"""The headrail from above: the marks themselves, measured in the picture, against the figures."""

import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest
from hypothesis import given, settings

from calc.components import components
from production.drawing.geometry import OTHER
from tests.headrails import SVG, WAND, blind, blinds, extent, marked, svg, unhurried

pytestmark = pytest.mark.once

CLOSED, DRAWN = "above_closed", "above_drawn"
seldom = settings(unhurried, max_examples=40)


class Picture:
    """A drawing read back: its marks in millimetres from the finished left end, as far as the finished width says."""

    def __init__(self, blind, view):
        self.root = ET.fromstring(svg(blind, size="station", view=view))  # noqa: S314
        self.covers = sorted(map(extent, marked(self.root, "part-end_cover")))
        self.start = self.covers[0][0]
        self.per_mm = (self.covers[-1][1] - self.start) / blind[1]["finished_width_mm"]

    def mm(self, mark):
        return tuple((x - self.start) / self.per_mm for x in extent(mark))

    def all(self, css_class):
        return sorted(self.mm(mark) for mark in marked(self.root, css_class))

    def axes(self, hand=None):
        kinds = [f"carrier-{hand}"] if hand else ["carrier"]
        return sorted(sum(self.mm(mark)) / 2 for kind in kinds for mark in marked(self.root, kind))

    def near(self, value, figure):
        """Equal, as far as coordinates of two places can say: two ends of a length, each half a hundredth off."""
        return abs(value - float(figure)) <= 0.0151 / self.per_mm


def value_of(figures, name):
    return next(entry["value"] for entry in figures["working"] if entry["name"] == name)


@seldom
@given(blinds())
def test_the_parts_in_the_picture_lie_end_to_end_over_the_finished_width(blind):
    for view in (CLOSED, DRAWN):
        picture, figures = Picture(blind, view), blind[1]
        parts = sorted(map(picture.mm, marked(picture.root, "part")))
        carriers = picture.all("carrier")
        if any(left == right for left, right in carriers):  # drawn as one stroke each, too narrow for a box
            body = value_of_put_in(figures, "carrier_body_mm")
            carriers = [(a - body / 2, a + body / 2) if a == b else (a, b) for a, b in carriers]
        chain = sorted([*parts, *carriers])
        clear = [after[0] - one[1] for one, after in pairwise(chain) if not picture.near(after[0], one[1])]
        assert len(clear) <= 1  # nothing stands apart but the lead carrier from what it faces
        assert all(length > 0 for length in clear)
        assert chain[0][0] == 0
        assert picture.near(chain[-1][1], figures["finished_width_mm"])


def value_of_put_in(figures, name):
    """A constant, as it was put into a figure's working."""
    return next(float(entry["values"][name]) for entry in figures["working"] if name in entry["values"])


@seldom
@given(blinds())
def test_rail_tubes_and_finished_width_measure_in_the_picture_what_their_figures_say(blind):
    for view in (CLOSED, DRAWN):
        picture, figures = Picture(blind, view), blind[1]
        ((left, right),) = picture.all("rail-section")
        assert picture.near(right - left, figures["rail_cut_mm"])
        for (left, right), side in zip(picture.all("part-spacer_tube"), ("left", "right"), strict=True):
            assert picture.near(right - left, figures["spacer_tubes_mm"][side])
        group = next(m for m in marked(picture.root, "figure") if m.get("data-figure") == "finished_width_mm")
        assert picture.near(picture.mm(group.find(f"{SVG}line"))[1], figures["finished_width_mm"])


@seldom
@given(blinds())
def test_outermost_carriers_and_every_spacing_in_the_picture_add_up_to_the_finished_width(blind):
    picture, figures = Picture(blind, CLOSED), blind[1]
    axes = picture.axes()
    assert picture.near(axes[0], value_of(figures, "outermost_mm.left"))
    assert picture.near(figures["finished_width_mm"] - axes[-1], value_of(figures, "outermost_mm.right"))
    middle = len(picture.axes("left")) - 1
    for place, (one, after) in enumerate(pairwise(axes)):
        split = figures["centre_spacing_mm"] is not None and place == middle
        assert picture.near(after - one, figures["centre_spacing_mm" if split else "closed_pitch_mm"])


@seldom
@given(blinds())
def test_a_closed_vane_is_as_wide_as_it_is_and_overlaps_its_neighbour_by_the_overlap(blind):
    spec, figures = blind
    picture = Picture(blind, CLOSED)
    vanes = picture.all("vane")
    assert len(vanes) == figures["vanes"]["count"]
    middle = len(picture.axes("left")) - 1
    for (left, right), axis in zip(vanes, picture.axes(), strict=True):
        assert picture.near(right - left, spec["vane_width_mm"])
        assert picture.near((left + right) / 2, axis)
    for place, (one, after) in enumerate(pairwise(vanes)):
        split = figures["centre_overlap_mm"] is not None and place == middle
        assert picture.near(one[1] - after[0], figures["centre_overlap_mm" if split else "overlap_mm"])


@seldom
@given(blinds())
def test_drawn_vanes_stand_square_to_the_glass_and_cover_the_stack(blind):
    picture, figures = Picture(blind, DRAWN), blind[1]
    vanes = picture.all("vane")
    assert len(vanes) == figures["vanes"]["count"]
    assert all(left == right for left, right in vanes)
    assert all(picture.near(vane[0], axis) for vane, axis in zip(vanes, picture.axes(), strict=True))
    for hand, stack in figures["stack_mm"].items():
        reach = picture.all(f"carrier-{hand}")
        if stack is None:
            assert not reach
        else:
            edge = reach[-1][1] if hand == "left" else figures["finished_width_mm"] - reach[0][0]
            assert picture.near(edge, stack)


@seldom
@given(blinds())
def test_from_above_there_are_as_many_marks_as_parts(blind):
    figures = blind[1]
    for view in (CLOSED, DRAWN):
        root = Picture(blind, view).root
        for hand in ("left", "right"):
            count = figures["carriers"][hand]
            assert len(marked(root, f"carrier-{hand}")) == count
            said = [text.text for group in marked(root, f"of-{hand}") for text in group.iter(f"{SVG}text")]
            letter = hand[0].upper()
            assert [words for words in said if words != letter] == ([f"{count} {letter}"] if count else [])
            assert said.count(letter) in (0, count)
        assert len(marked(root, "carrier-lead")) == figures["carriers"]["lead"]
        assert len(marked(root, "stops")[0]) == figures["rail_stops"]
        assert len(marked(root, "brackets")[0]) == 2 * figures["brackets"]  # its two jaws
        assert len(marked(root, "part-control_end_set")) == (blind[0]["operation"] == "cord_chain")


@seldom
@given(blinds())
def test_the_other_hand_is_the_mirror_image_in_the_picture(blind):
    spec, _ = blind
    other = {**spec, "hand": OTHER[spec["hand"]]}
    for view in (CLOSED, DRAWN):
        here, there = Picture(blind, view), Picture((other, components(other)), view)
        width = blind[1]["finished_width_mm"]
        for hand in ("left", "right"):
            flipped = [width - axis for axis in reversed(there.axes(OTHER[hand]))]
            assert all(here.near(a, b) for a, b in zip(here.axes(hand), flipped, strict=True))
        for part in ("part-spacer_tube", "part-link", "vane"):
            flipped = [(width - right, width - left) for left, right in reversed(there.all(part))]
            assert all(
                here.near(a, b)
                for one, two in zip(here.all(part), flipped, strict=True)
                for a, b in zip(one, two, strict=True)
            )


@pytest.mark.parametrize("view", [CLOSED, DRAWN])
@pytest.mark.parametrize("size", ["ticket", "station", "desk"])
def test_glass_and_room_are_said_each_on_its_side_of_the_rail(view, size):
    root = ET.fromstring(svg(blind(**WAND), size=size, view=view))  # noqa: S314
    at = {text.text: float(text.get("y")) for text in root.iter(f"{SVG}text")}
    (rail,) = marked(root, "rail-section")
    top, deep = float(rail.get("y")), float(rail.get("height"))
    assert at["glass"] < top
    assert at["room"] > top + deep / 2
    assert at["glass"] < at["room"]


@pytest.mark.parametrize("view", [CLOSED, DRAWN])
def test_the_views_from_above_carry_their_figures(view):
    drawn = svg(blind(), size="station", view=view)
    for figure in {CLOSED: ("1820", "1710", "12.2", "76.8", "68"), DRAWN: ("1820", "216", "209", "25")}[view]:
        assert f">{figure}</text>" in drawn
