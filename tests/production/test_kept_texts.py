"""What a process keeps makes room for what is asked for later, and is made once between all of them."""

import os
import sys

import pytest

from production.kept import Kept, KeptTexts, digest

pytestmark = pytest.mark.once


def test_what_was_asked_for_longest_ago_makes_room():
    found, made = Kept(most=2), []
    for key in ("a", "b", "a", "c", "a", "b"):
        found.get(key, lambda key=key: made.append(key))
    assert made == ["a", "b", "c", "b"]


def test_processes_of_one_server_make_a_text_once_between_them(tmp_path):
    folder, made = tmp_path / "parts", []

    def make(text):
        return lambda: made.append(text) or text

    first, second, alone = (
        KeptTexts(most_bytes=999, folder=folder),
        KeptTexts(most_bytes=999, folder=folder),
        KeptTexts(most_bytes=999),
    )
    assert [first.get(("row", 1), make("a é")), second.get(("row", 1), make("b"))] == ["a é", "a é"]
    assert [second.get(("row", 2), make("c")), alone.get(("row", 1), make("d"))] == ["c", "d"]
    assert made == ["a é", "c", "d"]
    assert folder.stat().st_mode & 0o777 == 0o700


@pytest.mark.parametrize("spoil", [lambda folder: folder.write_text(""), lambda folder: None], ids=["a file", "gone"])
def test_a_folder_that_can_t_be_used_costs_time_alone(tmp_path, spoil):
    folder = tmp_path / "gone" / "parts"
    if spoil(tmp_path / "gone"):
        assert (tmp_path / "gone").is_file()
    assert [KeptTexts(most_bytes=999, folder=folder).get("key", lambda text=text: text) for text in "ab"] == ["a", "b"]


def test_texts_make_room_by_their_sizes_together():
    kilobytes = sys.getsizeof("a" * 1000)
    texts, made = KeptTexts(most_bytes=10 * kilobytes), []

    def get(name, *, thousands):
        texts.get(name, lambda: made.append(name) or "a" * 1000 * thousands)

    for number in range(8):
        get(number, thousands=1)
    get("large", thousands=5)
    for number in (7, 6, 5, 4):
        get(number, thousands=1)
    assert made == [*range(8), "large"]
    get(0, thousands=1)
    assert made[9:] == [0]
    get("larger than all", thousands=11)
    get(0, thousands=1)
    assert made[10:] == ["larger than all", 0]


def test_what_was_left_for_others_first_makes_room(tmp_path):
    parts = KeptTexts(most_bytes=3000, folder=tmp_path)
    for number in range(12):
        parts.get(number, lambda number=number: f"{number:1000}")
        for found in tmp_path.iterdir():
            if found.read_text() == f"{number:1000}":
                os.utime(found, (number, number))
    assert sorted(int(found.read_text()) for found in tmp_path.iterdir()) == [9, 10, 11]


def test_a_digest_differs_with_any_value():
    assert digest({"width_mm": 1800}, None) == digest({"width_mm": 1800}, None)
    assert len({digest({"width_mm": 1800}, 1), digest({"width_mm": 1800.5}, 1), digest({"width_mm": 1800}, "1")}) == 3
