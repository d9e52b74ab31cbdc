"""What an order is found by, and what is typed to find it: folded alike, so that each finds the other."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orders.search import LONGEST_ENDING, MOST_WORDS, endings, order_number, units, words, written
from tests.orders.typed_to_find import NAMES, WAYS


def finds(text, sought):
    """Whether `text` as typed finds what is stored as `sought`."""
    wanted = units(text)
    return bool(wanted) and all(any(needle in sought for needle in unit.needles) for unit in wanted)


@pytest.mark.parametrize(
    ("name", "typed"),
    [
        ("Müller & Söhne", ["Muller", "MÜLLER", "mueller", "Sohne", "soehne", "muller & soehne", "Mu\u0308ller"]),
        ("Straßer", ["strasser", "STRASSER", "Straßer", "STRAẞER"]),
        ("O’Brien", ["obrien", "O'Brien", "o`brien", "O’BRIEN"]),
        ("Smith-Jones", ["smith jones", "smithjones", "Smith–Jones", "jones"]),
        ("Łódź Åkerøy", ["lodz", "akeroy", "aakeroey", "ŁÓDŹ"]),
        ("J.R. Hart", ["JR Hart", "J. R. Hart", "j r", "hart"]),
        ("Marlow Court Interiors", ["marlow", "court", "lowcourt", "inter", "interiors marlow", " marlow  court "]),
        ("Δημήτρης", ["ΔΗΜΗΤΡΗΣ", "δημητρης"]),
        ("李明", ["李明", "明"]),
    ],
)
def test_a_name_is_found_however_it_is_typed(name, typed):
    assert [each for each in typed if not finds(each, written(name))] == []


def test_a_name_is_not_found_by_another():
    sought = written("Marlow Court", "Anna Berg")
    assert not any(finds(each, sought) for each in ("marlov", "marlow zebra", "courtanna", "o", "", " ", "&", "%", "_"))


# The same number by national and by international notation: ITU-T E.123, 1 (its example), and numbers that Ofcom keeps
# free for drama; the trunk nought in brackets is what E.123 advises against and people write.
PHONES = [
    ("(042) 123 4567", ["+31 42 123 4567", "0031 42 123 4567", "0421234567", "042 123-4567", "42 1234567", "4567"]),
    ("+31 42 123 4567", ["(042) 123 4567", "+31421234567", "0031-42-1234567", "31421234567", "123 4567"]),
    ("020 7946 0101", ["+44 20 7946 0101", "+44 (0)20 7946 0101", "02079460101", "(020) 7946.0101", "00442079460101"]),
    ("+44 (0)20 7946 0101", ["020 7946 0101", "0044 (0)20-7946-0101", "442079460101", "7946 0101", "020 7946"]),
    ("07700 900123", ["+44 7700 900123", "07700-900123", "7700 900 123", "07700 900 123", "900123"]),
    ("442079460101", ["020 7946 0101", "+44 20 7946 0101"]),
    ("020 7946 0101 / 07700 900123", ["07700 900 123", "+44 20 7946 0101"]),
    ("020 7946 0101 ext. 12", ["02079460101", "020 7946 0101 ext 12"]),
    ("030/901820", ["030 901820", "+49 30 901820", "0049 30/901820"]),
    ("+353 1 234 5678", ["01 234 5678", "00353 1 2345678"]),
    ("(212) 555-0123", ["+1 212 555 0123", "1-212-555-0123", "2125550123", "212.555.0123"]),
    ("٠٢٠ ٧٩٤٦ ٠١٠١", ["020 7946 0101"]),
]


@pytest.mark.parametrize(("phone", "typed"), PHONES)
def test_a_phone_number_is_found_however_it_is_typed(phone, typed):
    sought = written(phones=(phone,))
    assert [each for each in [phone, *typed] if not finds(each, sought)] == []


def test_another_phone_number_is_not_found():
    sought = written(phones=("020 7946 0101",))
    others = ("020 7946 0102", "+44 20 7946 0111", "0121 946 0101", "+33 1 79 46 01 01 01", "00000")
    assert not any(finds(each, sought) for each in others)


@pytest.mark.parametrize(
    ("text", "number"),
    [("412", 412), ("0412", 412), (" #412 ", 412), ("Order no. 412", 412), ("Nr 412", 412), ("000412", 412)]
    + [(text, None) for text in ("", "0", "0412-3", "marlow 412", "1234567", "12 34", "order")],
)
def test_an_orders_number_is_read_where_nothing_else_was_typed(text, number):
    assert order_number(text) == number


def test_of_many_words_the_longest_are_looked_for():
    wanted = [unit.needles[0] for unit in units("a bb ccc dddd eeeee ffffff")]
    assert wanted == ["ccc", "dddd", "eeeee", "ffffff"]
    assert len(wanted) == MOST_WORDS


@given(name=NAMES, other=NAMES, way=st.sampled_from(sorted(WAYS)))
@settings(max_examples=300, deadline=None)
def test_whatever_a_thing_is_called_it_is_found_by_that(name, other, way):
    assert finds(WAYS[way](name), written(other, name)), words(name)


NATIONAL = st.from_regex(r"[1-9][0-9]{6,9}", fullmatch=True)


@given(national=NATIONAL, code=st.sampled_from(["1", "7", "44", "49", "353", "420"]), data=st.data())
@settings(max_examples=200, deadline=None)
def test_a_phone_number_finds_itself_through_every_notation(national, code, data):
    ways = [f"0{national}", f"+{code} {national}", f"00{code}{national}", f"+{code} (0){national}", f"(0{national})"]
    marks = st.sampled_from(["", " ", "-", ".", "  ", " - "])

    def typed():
        text = data.draw(st.sampled_from(ways))
        at = data.draw(st.integers(len(text) - 6, len(text) - 1))
        return text[:at] + data.draw(marks) + text[at:]

    kept, asked = typed(), typed()
    assert finds(asked, written(phones=(kept,))), (kept, asked)


@given(
    kept=st.lists(NAMES, min_size=1, max_size=3), typed=NAMES, phone=st.from_regex(r"0[1-9][0-9]{6,9}", fullmatch=True)
)
@settings(max_examples=300, deadline=None)
def test_a_needle_stands_in_what_is_kept_where_it_begins_one_of_its_endings(kept, typed, phone):
    sought = written(*kept, phones=(phone,))
    pieces = endings(sought)
    for text in (typed, kept[0], kept[0][1:4], phone[3:]):
        for needle in (each for unit in units(text) for each in unit.needles):
            begun = any(piece.startswith(needle[:LONGEST_ENDING]) for piece in pieces)
            assert begun or needle not in sought, (needle, sought)
            assert len(needle) > LONGEST_ENDING or begun == (needle in sought), (needle, sought)
