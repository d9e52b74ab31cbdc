"""Charts draw the counts that they are given, to one scale, and say them in words."""

import re
from xml.etree import ElementTree

import pytest

from production.charts import PLOT, Column, columns, in_words, rule_step

SVG = "{http://www.w3.org/2000/svg}"
HOURS = (Column(label="7", count=3), Column(label="8", count=0), Column(label="9", count=6, running=True))


def drawn(bars=HOURS, highest=6, title="Railing"):
    svg = columns(name="railing", title=title, unit="Blinds finished", bars=bars, highest=highest)
    # A page's own parser knows SVG; an XML parser must be told.
    return ElementTree.fromstring(svg.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1))  # noqa: S314


def heights(svg):
    return [float(bar.get("height")) for bar in svg.iter(f"{SVG}rect")]


def test_columns_stand_in_proportion_to_their_counts():
    assert heights(drawn()) == [PLOT / 2, PLOT]


def test_charts_with_the_same_highest_count_share_a_scale():
    few, many = (drawn(bars=[Column(label="7", count=count)], highest=8) for count in (2, 8))
    assert heights(many)[0] == 4 * heights(few)[0]


def test_every_count_stands_on_its_column_and_every_hour_beneath():
    texts = [text.text for text in drawn().iter(f"{SVG}text")]
    assert sorted(texts) == ["0", "3", "6", "7", "8", "9"]


def test_an_hour_that_has_not_come_shows_neither_column_nor_nought():
    svg = drawn(bars=[Column(label="7", count=2), Column(label="8", count=None)])
    assert [text.text for text in svg.iter(f"{SVG}text")] == ["7", "2", "8"]


def test_an_hour_still_running_is_told_by_its_shape_and_by_word():
    svg = drawn()
    assert [bar.get("class") for bar in svg.iter(f"{SVG}rect")] == ["bar", "bar running"]
    assert "9: 6 so far" in svg.find(f"{SVG}desc").text


def test_title_and_words_name_the_drawing():
    svg = drawn(title="Rails <cut> & strung")
    assert svg.get("role") == "img"
    assert svg.get("aria-labelledby").split() == [svg.find(f"{SVG}title").get("id"), svg.find(f"{SVG}desc").get("id")]
    assert svg.find(f"{SVG}title").text == "Rails <cut> & strung"
    assert svg.find(f"{SVG}desc").text == "Blinds finished, 7: 3, 8: 0, 9: 6 so far."


def test_nothing_counted_yet_is_said():
    nothing = [Column(label="7", count=None)]
    assert in_words(unit="Blinds finished", bars=nothing) == "Blinds finished: nothing yet."
    assert heights(drawn(bars=nothing, highest=0)) == []


@pytest.mark.parametrize(
    ("highest", "step"), [(1, 1), (4, 1), (5, 2), (8, 2), (9, 5), (20, 5), (21, 10), (40, 10), (41, 20), (900, 500)]
)
def test_rules_stand_at_round_counts_and_are_at_most_four(highest, step):
    assert rule_step(highest=highest) == step
    assert highest / step <= 4


def test_no_drawing_leans_on_colour_or_inline_style():
    svg = columns(name="n", title="t", unit="u", bars=HOURS, highest=6)
    assert not re.search(r"style=|fill=|stroke=|#[0-9a-f]{3}", svg)
