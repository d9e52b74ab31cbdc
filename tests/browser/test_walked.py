"""What the walk over every page looks for is found where it is."""

import pytest

from tests.browser.walked import spilled, unreached

pytestmark = pytest.mark.browser

SOUND = """<style>:focus-visible { outline: 3px solid blue } .wide { overflow-x: auto; position: relative }
  label:has(:focus-visible) { outline: 3px solid blue } label :focus-visible { outline: none }</style>
  <p>Words that fit.</p><div class="wide" tabindex="0"><p style="width: 900px">A table that scrolls by itself.</p></div>
  <a href="#a">on</a> <label><input type="checkbox">its label shows it</label> <input type="date">
  <input type="radio" name="one"><input type="radio" name="one">"""


def test_a_sound_page_has_nothing_wrong_with_it(page):
    page.set_content(SOUND)
    assert unreached(page) == []
    assert spilled(page) == []


@pytest.mark.parametrize(
    ("part", "said"),
    [
        ('<p style="width: 700px">wide</p>', ["the page is 708 px wide", "beyond: P  wide"]),
        (
            '<p style="width: 90px; overflow: hidden; white-space: nowrap">more than there is room for</p>',
            ["cut off: P"],
        ),
        ('<p style="height: 9px; overflow: hidden">low</p>', ["cut off: P  low"]),
    ],
)
def test_what_spills_over_or_is_cut_off_is_found(page, part, said):
    page.set_content(SOUND + part)
    found = [each for each in spilled(page) if each.startswith("at 360 px: ")]
    assert len(found) == len(said)
    assert all(words in each for words, each in zip(said, found, strict=True))


@pytest.mark.parametrize(
    ("part", "said"),
    [
        ('<a href="#b" style="outline: none">unseen</a>', "focus is not seen: <a"),
        ('<a href="#b" style="position: fixed; left: 0; top: -90px">above</a>', "focus is not seen: <a"),
        ("<button onfocus=\"document.querySelector('a').focus()\">trap</button><button>after</button>", "not reached"),
    ],
)
def test_a_control_that_is_not_reached_or_not_seen_is_found(page, part, said):
    page.set_content(SOUND + part)
    assert any(said in each for each in unreached(page))
