"""Which column means what, which rows count, and days as files give them."""

import datetime as dt

import pytest

from orders.importing.columns import Column, columns_of, has_unit_row, head_row, read_head
from orders.importing.days import DayError, read_day
from orders.importing.layout import left_out_rows
from orders.importing.tables import Sheet, letter

pytestmark = pytest.mark.once


def sheet(*rows):
    return Sheet(name="", rows=[list(row) for row in rows])


@pytest.mark.parametrize(
    ("head", "read"),
    [
        ("Width", ("width", "")),
        (" WIDTH* ", ("width", "")),
        ("Width (mm)", ("width", "mm")),
        ("width in cm", ("width", "cm")),
        ("Width [inches]", ("width", "in")),
        ('Drop "', ("drop", "in")),
        ("Hauteur, cm", ("drop", "cm")),
        ("Höhe/mm", ("drop", "mm")),
        ("Qty (in)", ("quantity", "")),
        ("P.O. No.", ("reference", "")),
        ("Manœuvre", ("operation", "")),
        ("Width of the door", ("", "")),
        ("", ("", "")),
    ],
)
def test_a_head_says_its_field_and_its_unit(head, read):
    assert read_head(head) == read


def test_the_head_is_the_row_with_most_words_that_are_known():
    assert head_row(sheet(["Blinds"], ["Room", "Notes"], ["Room", "Width", "Drop"], ["Bay", "1", "2"])) == 3
    assert head_row(sheet(["alpha"], ["Width", "beta"])) == 0
    assert head_row(sheet(["alpha", "beta"], ["1", "2"]), known=frozenset({"alpha", "beta"})) == 1


def test_what_is_remembered_goes_before_the_heads_own_words_save_a_unit_in_the_file():
    found = sheet(["Width", "Notes"], ["mm", ""], ["1830", "spare"])
    remembered = {"width": {"field": "width", "unit": "cm"}, "notes": {"field": "", "unit": ""}}
    assert has_unit_row(found, 1)
    assert columns_of(found, head=1, remembered=remembered) == [Column(0, "Width", "width", "mm"), Column(1, "Notes")]


def test_columns_without_heads_are_remembered_by_their_letters():
    found = columns_of(sheet(["1830", "1600"]), head=0, remembered={"#B": {"field": "drop", "unit": "mm"}})
    assert found == [Column(0, ""), Column(1, "", "drop", "mm")]


def test_columns_are_lettered_as_spreadsheets_do():
    assert [letter(number) for number in (0, 25, 26, 51, 52, 701, 702)] == ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]


@pytest.mark.parametrize(
    ("text", "rows"),
    [("", set()), ("12", {12}), ("12, 15-17; 20", {12, 15, 16, 17, 20}), ("3 – 4", {3, 4}), ("4-3", set())],
)
def test_rows_to_leave_out_are_named_by_their_numbers(text, rows):
    assert left_out_rows(text) == (rows, [])


@pytest.mark.parametrize("text", ["total", "1-2-3", "-4", "9999999", "²"])
def test_what_names_no_rows_is_said(text):
    _, (problem,) = left_out_rows(text)
    assert str(problem) == f"“{text}” names no rows to leave out. Type 12 or 15-17."


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-03-18", dt.date(2026, 3, 18)),
        ("2026-03-18 00:00", dt.date(2026, 3, 18)),
        ("18.3.2026", dt.date(2026, 3, 18)),
        ("04.03.2026", dt.date(2026, 3, 4)),
        ("18/03/2026", dt.date(2026, 3, 18)),
        ("3/18/2026", dt.date(2026, 3, 18)),
        ("04/04/2026", dt.date(2026, 4, 4)),
        ("18 March 2026", dt.date(2026, 3, 18)),
        ("18-Mar-2026", dt.date(2026, 3, 18)),
        # Day 39448 of the 1900 date system is 1 January 2008: ECMA-376 part 1, 18.17.4.1; from memory.
        ("39448", dt.date(2008, 1, 1)),
    ],
)
def test_a_day_is_read_as_files_write_it(text, day):
    assert read_day(text) == day


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("03/04/2026", "That could be 3 April 2026 or 4 March 2026. Write it as year-month-day"),
        ("18/03/26", "The year must have four digits."),
        ("31/02/2026", "No such day is in the calendar."),
        ("soon", "That is no day. Write it as year-month-day, such as 2026-03-18."),
        ("2026-13-01", "No such day is in the calendar."),
    ],
)
def test_what_is_no_day_or_could_be_two_is_refused(text, said):
    with pytest.raises(DayError, match=said):
        read_day(text)
