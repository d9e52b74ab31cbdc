"""The cord's way in the picture, step by step, and the inks of the hands."""

import re
import xml.etree.ElementTree as ET
from itertools import pairwise
from pathlib import Path

import pytest

from tests.headrails import SVG, blind, marked, svg

pytestmark = pytest.mark.once

STYLES = Path(__file__).parents[2] / "static" / "css"


def steps_of(root):
    """The groups of each step, by its number."""
    found = {}
    for group in marked(root, "cord-step"):
        found.setdefault(int(group.get("data-step")), []).append(group)
    return found


@pytest.mark.parametrize(("draw", "steps"), [("one_way", 5), ("reverse", 5), ("split", 6)])
@pytest.mark.parametrize("hand", ["left", "right"])
def test_each_step_has_its_number_in_the_picture_and_its_words(draw, steps, hand):
    root = ET.fromstring(svg(blind(draw=draw, hand=hand), view="cord"))  # noqa: S314
    found = steps_of(root)
    assert sorted(found) == list(range(1, steps + 1))
    for number, groups in found.items():
        said = [text.text for group in groups for text in group.iter(f"{SVG}text")]
        assert said.count(str(number)) == 2  # once in the picture, once beside the words
        (words,) = (each for each in said if each != str(number))
        assert len(words.split()) > 3


@pytest.mark.parametrize("draw", ["one_way", "reverse", "split"])
@pytest.mark.parametrize("hand", ["left", "right"])
def test_the_steps_join_into_one_cord_from_the_clamp_and_back_to_it(draw, hand):
    root = ET.fromstring(svg(blind(draw=draw, hand=hand), view="cord"))  # noqa: S314
    runs = [ends_of(run.get("d")) for run in marked(root, "cord-run")]
    assert len(runs) == 4
    assert all(one[1] == after[0] for one, after in pairwise(runs))
    assert runs[-1][1] == runs[0][0]


def ends_of(d):
    """Where a way of absolute moves begins and ends."""
    x = y = start = None
    for move, numbers in re.findall(r"([MHVA])([^MHVA]*)", d):
        values = [float(number) for number in numbers.split()]
        x = values[-2] if move in "MA" else values[0] if move == "H" else x
        y = values[-1] if move in "MA" else values[0] if move == "V" else y
        start = start or (x, y)
    return start, (x, y)


def tokens(text):
    """The colours that a style sheet names; of a name given twice the first."""
    return dict(reversed(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", text)))


def luminance(colour):
    # WCAG 2.2, relative luminance.
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return sum(share * c for share, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_inks_of_the_hands_stand_out_from_paper_and_sheet(scheme):
    # WCAG 2.2, 1.4.11 non-text contrast: 3 to 1; letters and counts take the same ink, so 1.4.3 asks 4.5 to 1.
    base, ink = ((STYLES / name).read_text() for name in ("base.css", "drawing.css"))
    place = {"light": 0, "dark": 1}[scheme]
    ground = tokens(base.split("@media (prefers-color-scheme: dark)")[place])
    ink = tokens(re.split(r"@media \((?=prefers)|@media print", ink)[place])
    for hand in ("hand-left", "hand-right"):
        assert ink[hand] != ground["signal"]
        for under in ("paper", "sheet"):
            bright, dim = sorted((luminance(ink[hand]), luminance(ground[under])), reverse=True)
            assert (bright + 0.05) / (dim + 0.05) >= 4.5


def test_on_paper_both_hands_are_black():
    printed = re.search(r"@media print { :root {([^}]*)}", (STYLES / "drawing.css").read_text())[1]
    assert set(re.findall(r"#\w+", printed)) == {"#000"}
