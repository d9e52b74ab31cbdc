"""Orders' lines as a file, in the form that is read here, and an empty one of that form for customers to fill in."""

import csv
import io

import xlsxwriter

from calc.spec import VANE_WIDTHS_MM
from orders.importing.heads import TITLES
from orders.importing.limits import MOST_ROWS
from orders.importing.separated import NEUTRALISED
from orders.importing.words import accepted
from orders.models.choices import MARKET_NAMES, WORDS
from orders.spec import number

IN_MM = ("width", "drop", "vane_width", "control_drop", "installation_height", "recess_depth")
LISTED = ("market", "size_basis", "draw", "hand", "operation", "loop_control", "chain", "fixing", "bottom")
HEADS = [f"{title} (mm)" if field in IN_MM else title for field, title in TITLES.items()]
SAFE = {"in_memory": True, "strings_to_formulas": False, "strings_to_numbers": False, "strings_to_urls": False}


def row_of(line):
    """A line under each of our own heads: a text, a number in millimetres or a day; "" where it says nothing."""
    order, fabric = line.order, line.fabric
    lengths = {name: number(getattr(line, f"{name}_mm")) for name in IN_MM}
    words = {name: WORDS.get(getattr(line, name), "") for name in LISTED if name != "market"}
    values = {
        "order": f"{order.number:04d}",
        "reference": order.reference,
        "due_on": order.due_on,
        "market": MARKET_NAMES[order.market],
        "room": line.room,
        "quantity": line.quantity,
        "system": line.system.code,
        "fabric": fabric.code,
        "colour": fabric.colour,
        "special_instruction": line.special_instruction,
        "concerns": ", ".join(line.concerns),
        **{name: "" if value is None else value for name, value in lengths.items()},
        **words,
    }
    return [values[field] for field in TITLES]


def as_text(lines) -> bytes:
    """CSV with commas, in UTF-8 with its mark, by which spreadsheets know it. No text can start a formula in one."""
    written = io.StringIO(newline="")
    writer = csv.writer(written)
    writer.writerow(HEADS)
    writer.writerows([_neutral(value) for value in row_of(line)] for line in lines)
    return written.getvalue().encode("utf-8-sig")


def _neutral(value):
    """A text that a spreadsheet would run as a formula gets an apostrophe in front, which our own reading takes off."""
    return f"'{value}" if isinstance(value, str) and value.startswith(NEUTRALISED) else value


def as_sheet(lines) -> bytes:
    """The same as .xlsx: texts are texts there, and never formulas."""
    return _workbook(lambda book: _write_table(book, [row_of(line) for line in lines]))


def template(*, fabrics, systems) -> bytes:
    """An empty table as .xlsx; where only some words are understood, its cells offer them."""

    def write(book):
        sheet = _write_table(book, [])
        offered = _write_words(book, _offered(fabrics, systems))
        for field, place in offered.items():
            column = list(TITLES).index(field)
            rule = {"validate": "list", "source": place, "error_type": "warning", "error_title": "Another word"}
            sheet.data_validation(1, column, MOST_ROWS, column, {**rule, "error_message": "It may not be understood."})

    return _workbook(write)


def _offered(fabrics, systems):
    words = {name: accepted(name) for name in LISTED}
    return {
        **words,
        "vane_width": list(VANE_WIDTHS_MM),
        "fabric": [str(fabric) for fabric in fabrics],
        "system": [system.name for system in systems],
    }


def _workbook(write):
    made = io.BytesIO()
    with xlsxwriter.Workbook(made, SAFE) as book:
        write(book)
    return made.getvalue()


def _write_table(book, rows):
    sheet = book.add_worksheet("Blinds")
    head = book.add_format({"bold": True, "bottom": 2, "text_wrap": True, "valign": "top"})
    day = book.add_format({"num_format": "yyyy-mm-dd"})
    for column, title in enumerate(HEADS):
        sheet.write_string(0, column, title, head)
        sheet.set_column(column, column, max(len(title) + 1, 10))
    for place, row in enumerate(rows, start=1):
        for column, value in enumerate(row):
            if hasattr(value, "isoformat"):
                sheet.write_datetime(place, column, value, day)
            elif isinstance(value, str):
                sheet.write_string(place, column, value)
            else:
                sheet.write_number(place, column, value)
    sheet.freeze_panes(1, 0)
    return sheet


def _write_words(book, offered):
    """A sheet with the words of each column below its title; where each list stands, by its field."""
    sheet = book.add_worksheet("Words")
    places = {}
    for column, (field, words) in enumerate(offered.items()):
        sheet.write_string(0, column, f"{TITLES[field]} may be", book.add_format({"bold": True}))
        sheet.set_column(column, column, 24)
        sheet.write_column(1, column, words)
        name = xlsxwriter.utility.xl_col_to_name(column)
        places[field] = f"=Words!${name}$2:${name}${max(len(words), 1) + 1}"
    return places
