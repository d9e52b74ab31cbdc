"""What may be wrong in a file's rows: each is said with its place, its value and the way out, and none is taken."""

import datetime as dt

import pytest

from tests.orders.looked_at import catalogue, looked, problems
from tests.orders.made_files import BAY, HEADS, STUDY, TWO, row, separated, workbook, written

pytestmark = [pytest.mark.django_db, pytest.mark.once]


@pytest.fixture(autouse=True)
def a_catalogue(db):
    catalogue()


# Text, and what the file's problems must say, each as a part of one of them.
WRONG = {
    "a decimal comma between commas": (
        b"\r\n".join([separated([HEADS]).strip(), separated([BAY]).strip().replace(b"1830", b"1830,5")]),
        ["Row 2 “Metal”: It has more cells than there are heads. A comma inside a value"],
    ),
    "a mark for thousands": (
        separated([HEADS, row(Width="1,830")]),
        ["Row 2, column E, Width “1,830”: “1,830” could be 1830 mm or 1.83 mm. Type 1830 mm without a mark"],
    ),
    "a negative width": (separated([HEADS, row(Width="-1830")]), ["Width “-1830”: “-1830” is not a length"]),
    "a percentage": (separated([HEADS, row(Drop="95%")]), ["Row 2, column F, Drop “95%”: “95%” is not a length"]),
    "centimetres in a column of millimetres": (
        separated([HEADS, row(Width="70")]),
        ["Width “70”: “70” is read as 70 mm, and no width is under 100 mm. If it is 70 cm or 70 in, type the unit too"],
    ),
    "nought wide": (separated([HEADS, row(Width="0")]), ["“0” is nothing: a length is above 0"]),
    "a day where a width belongs": (
        workbook(
            lambda book: written(book.add_worksheet(), TWO).write_datetime(
                1, 4, dt.date(2026, 3, 4), book.add_format({"num_format": "d/m/yy"})
            )
        ),
        ["Row 2, column E, Width “2026-03-04”: “2026-03-04” is not a length"],
    ),
    "an error of a formula": (
        workbook(lambda book: written(book.add_worksheet(), TWO).write_formula(1, 4, "=1/0", None, "#DIV/0!")),
        ["Row 2, column E, Width “#DIV/0!”: “#DIV/0!” is not a length"],
    ),
    "a formula without its value": (
        workbook(lambda book: written(book.add_worksheet(), TWO).write_formula(1, 4, "=1800+30")),
        ["Row 2, column E, Width “0”: “0” is nothing"],
    ),
    "no quantity below a head for it": (
        separated([HEADS, row(Qty="")]),
        ["Row 2, column C, Quantity: Write how many, 1 to 99."],
    ),
    "a quantity that is no count": (
        separated([HEADS, row(Qty="two")]),
        ["Row 2, column C, Quantity “two”: That is not a count"],
    ),
    "a quantity of a hundred": (separated([HEADS, row(Qty="100")]), ["Quantity “100”: A line holds 99 blinds at most"]),
    "a quantity merged over two rows": (
        workbook(
            lambda book: written(book.add_worksheet(), [HEADS, row(Qty=""), row(STUDY, Qty="")]).merge_range(
                1, 2, 2, 2, 3
            )
        ),
        ["Row 2, column C, Quantity “3”: One merged cell for rows 2 to 3. Part it and give each row its own quantity."],
    ),
    "cells merged across columns": (
        workbook(
            lambda book: written(book.add_worksheet(), [HEADS, row(Width="", Drop="")]).merge_range(
                1, 4, 1, 5, "1830 x 1600"
            )
        ),
        ["Row 2: Its cells E to F are merged into one. Part them and give each column its value."],
    ),
    "a word that is not known": (
        separated([HEADS, row(Hand="near the door")]),
        ["Row 2, column J, Hand “near the door”: That is not known here. Write Left or Right."],
    ),
    "no hand": (separated([HEADS, row(Hand="")]), ["Row 2, column J, Hand: It is not said. Write Left or Right."]),
    "no column for the size basis": (
        separated([[cell for place, cell in enumerate(line) if place != 3] for line in TWO]),
        ["Row 2, Size basis: It is not said. Write Recess or Exact.", "Row 3, Size basis: It is not said."],
    ),
    "a fabric that is not there": (
        separated([HEADS, row(Fabric="Lindn chalk")]),
        ["Row 2, column H, Fabric “Lindn chalk”: No fabric is called so. Is it Linden chalk? Write name and colour"],
    ),
    "a fabric in two widths and none said": (
        separated([HEADS, row(Vane_width="")]),
        ["Fabric “Linden chalk”: That could be Linden chalk, 89 mm or Linden chalk, 127 mm. Give the vane width"],
    ),
    "a fabric slit to another width": (
        separated([HEADS, row(Vane_width="127", Fabric="Tilleul blé foncé")]),
        ["Tilleul blé foncé, 89 mm is slit to 89 mm and the vanes are 127 mm. Choose another"],
    ),
    "vanes that are not made": (
        separated([HEADS, row(Vane_width="100")]),
        ["Vane width “100”: That is 100 mm, and no vanes are that wide. Write 89 mm or 127 mm."],
    ),
    "no safety device on a loop": (
        separated([HEADS, row(Safety_device="")]),
        ["Row 2, column L, Loop control: It is not said. Write Tensioner, Breakaway or Weight."],
    ),
    "a wand with a metal chain": (
        separated([HEADS, row(STUDY, Chain="metal")]),
        ["Row 2, column M, Chain “metal”: A wand blind has none"],
    ),
    "a blind too wide for its system": (
        separated([HEADS, row(Width="7 m")]),
        ["Row 2, column E, Width “7 m”: The finished width is 6990 mm, wider than 5800 mm"],
    ),
    "a total below": (
        separated([*TWO, row([""] * 13, Room="Total", Qty="3")]),
        ["Row 4: It gives no width and no drop. Leave it out if it is a total or a note; else give both."],
    ),
    "a text too long": (
        separated([HEADS, row(Room="Bay " * 40)]),
        ["It has 159 characters, and 60 are kept. Shorten it."],
    ),
    "a cell of a hundred thousand letters": (
        separated([HEADS, row(Width="9" * 100_000)]),
        ["…” is not a length", "Row 2, column E, Width “999"],
    ),
    "two columns of widths": (
        separated([[*line, line[4]] for line in TWO]),
        ["Columns E and N are both taken as Width. Leave out all but one."],
    ),
    "a loop that the market refuses": (
        separated([HEADS, row(Safety_device="weight")]),
        ["Row 2, column L, Loop control “weight”: "],
    ),
    "no head that is known": (
        separated([["alpha", "beta"], ["1", "2"]]),
        ["No column is known by its head. Say which row has the heads, or what each column is."],
    ),
    "heads and nothing else": (separated([HEADS]), ["No blind stands below the head."]),
}


@pytest.mark.parametrize("name", WRONG)
def test_what_is_wrong_in_a_row_is_said_with_its_place_its_value_and_the_way_out(name):
    content, expected = WRONG[name]
    preview = looked(content)
    said = problems(preview)
    assert not preview.ready
    for part in expected:
        assert any(part in each for each in said), said
