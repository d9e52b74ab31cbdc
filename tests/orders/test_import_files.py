"""Customers' files as different programs write them, and the lines that they become."""

import re
from decimal import Decimal

import pytest

from tests.orders import made_files as files
from tests.orders.looked_at import catalogue, lines, looked, problems
from tests.orders.made_files import BAY, HEADS, STUDY, TWO, row, separated, sheets, table, workbook, written

pytestmark = [pytest.mark.django_db, pytest.mark.once]


@pytest.fixture(autouse=True)
def a_catalogue(db):
    catalogue()


BAY_LINE = ("Bay", 2, "recess", Decimal(1830), Decimal(1600), "left")
STUDY_LINE = ("Study", 1, "exact", Decimal("1210.5"), Decimal(1400), "right")
BOTH = [BAY_LINE, STUDY_LINE]


def with_commas(rows):
    """Figures as written where a comma stands for the decimal point."""
    return [[re.sub(r"^(\d+)\.(\d)$", r"\1,\2", cell) for cell in line] for line in rows]


def heads(**changed):
    return row(HEADS, **changed)


def a_merged_room(book):
    sheet = written(book.add_worksheet(), [HEADS, row(Room=""), row(STUDY, Room="")])
    sheet.merge_range(1, 1, 2, 1, "Lounge")


def a_merged_title(book):
    sheet = written(book.add_worksheet(), TWO, at=(2, 0))
    sheet.merge_range(0, 0, 0, 12, "Blinds for Flat 2")


def formulas(book):
    sheet = written(book.add_worksheet(), TWO)
    sheet.write_formula(1, 4, "=1800+30", None, 1830)


def a_formatted_column(book):
    """A whole column formatted down to the last row of the sheet, as happens when somebody clicks on its head."""
    sheet = written(book.add_worksheet(), TWO)
    sheet.write_blank(1_048_575, 4, None, book.add_format({"num_format": "0.0"}))


def prefixed(content):
    """The same workbook with its elements under a prefix, as some libraries write them."""
    name = "xl/worksheets/sheet1.xml"
    return files.repacked(
        content,
        change={name: lambda part: re.sub(rb"<(/?)(?=[a-zA-Z])", rb"<\1x:", part).replace(b" xmlns=", b" xmlns:x=")},
    )


GERMAN = table("""
Kommission | Raum | Stück | Maßart | Breite (cm) | Höhe (cm) | Lamellenbreite | Stoff | Paketlage | Bedienseite | Bedienart
Flat 2 | Bay   | 2 | Nische    | 183    | 160 | 89 mm | Linden chalk | einseitig | links  | Stab
Flat 2 | Study | 1 | Fertigmaß | 121,05 | 140 | 89 mm | Linden chalk | geteilt   | rechts | Stab
""")  # noqa: E501 - a table
FRENCH = table("""
Pièce | Qté | Type de mesure | Largeur | Hauteur | Lame | Tissu | Coloris | Refoulement | Côté | Manœuvre | Chaînette | Sécurité enfant
Bay   | 2 | tableau      | 1,83 m    | 1,6 m  | 89 | Linden | chalk | central | gauche | cordon et chaînette | métal | tendeur
Study | 1 | mesure finie | 1210,5 mm | 140 cm | 89 | Linden | chalk | un côté | droite | baguette            | -     | -
""")  # noqa: E501 - a table
SPANISH = table("""
Estancia | Cantidad | Tipo de medida | Ancho | Alto | Ancho de lama | Tejido | Recogida | Mando | Accionamiento | Cadena | Seguridad infantil
Bay   | 2 | hueco        | 1830   | 1600 | 89 | linden-89 | central | izquierda | cordón y cadena | metal | tensor
Study | 1 | medida final | 1210.5 | 1400 | 89 | linden-89 | un lado | derecha   | varilla         |       |
""")  # noqa: E501 - a table
INCHES = [
    heads(Width="Width (in)", Drop='Drop "'),
    row(Width="72", Drop="63"),
    row(STUDY, Width="47 1/4", Drop="55.5"),
]
INCH_LINES = [
    ("Bay", 2, "recess", Decimal("1828.8"), Decimal("1600.2"), "left"),
    ("Study", 1, "exact", Decimal("1200.2"), Decimal("1409.7"), "right"),
]

GOOD = {
    "commas, as most programs write": (separated(), BOTH),
    "semicolons and decimal commas, as where a comma is the decimal sign": (separated(with_commas(TWO), by=";"), BOTH),
    "tabs": (separated(by="\t"), BOTH),
    "bars": (separated(by="|"), BOTH),
    "every cell quoted": (separated(quoted=True), BOTH),
    "decimal commas in quotation marks between commas": (separated(with_commas(TWO)), BOTH),
    "the separator said in the first line": (b"sep=;\r\n" + separated(by=";"), BOTH),
    "UTF-8 with its mark": (separated(encoding="utf-8-sig"), BOTH),
    "UTF-16 with its mark, tabs: 'Unicode text' of a spreadsheet": (separated(by="\t", encoding="utf-16"), BOTH),
    "UTF-16 without a mark": (separated(encoding="utf-16-le"), BOTH),
    "UTF-16, the other way round": (separated(encoding="utf-16-be"), BOTH),
    "line ends of old Macs": (separated(end="\r"), BOTH),
    "line ends of Unix": (separated(end="\n"), BOTH),
    "no line end after the last row": (separated().rstrip(), BOTH),
    "Windows-1252": (
        separated([HEADS, row(Room="Entrée côté été")], encoding="cp1252"),
        [("Entrée côté été", *BAY_LINE[1:])],
    ),
    "DOS 850": (
        separated([HEADS, row(Room="Entrée côté été")], encoding="cp850"),
        [("Entrée côté été", *BAY_LINE[1:])],
    ),
    "a line break inside a cell": (
        separated([HEADS, row(Room="Bay\r\nleft window"), STUDY]),
        [("Bay left window", *BAY_LINE[1:]), STUDY_LINE],
    ),
    "a quotation mark inside a cell": (separated([HEADS, row(Room='The "Bay"')]), [('The "Bay"', *BAY_LINE[1:])]),
    "empty columns and rows behind the table": (
        separated([[*line, "", "", ""] for line in TWO] + [[""] * 16] * 3),
        BOTH,
    ),
    "empty rows between": (separated([HEADS, BAY, [], [""], STUDY]), BOTH),
    "a letterhead above the heads": (separated([["Marlow Court Interiors"], [], ["Order of 4 March"], *TWO]), BOTH),
    "a row of units under the heads": (
        separated(
            [
                HEADS,
                row([""] * 13, Width="cm", Drop="(cm)"),
                row(Width="183", Drop="160"),
                row(STUDY, Width="121.05", Drop="140"),
            ]
        ),
        BOTH,
    ),
    "the heads again in the middle": (separated([HEADS, BAY, HEADS, STUDY]), BOTH),
    "columns in another order": (separated([line[::-1] for line in TWO]), BOTH),
    "lengths with their units": (
        separated([HEADS, row(Width="1.83 m", Drop="160 cm"), row(STUDY, Width="1210.5mm", Drop="1,4 m")]),
        BOTH,
    ),
    "inches in the heads": (separated(INCHES), INCH_LINES),
    "capitals and stray spaces": (
        separated([[f" {cell.upper()}\u00a0" for cell in line] for line in TWO]),
        [("BAY", *BAY_LINE[1:]), ("STUDY", *STUDY_LINE[1:])],
    ),
    "a half as one sign under a head in inches": (
        separated([row(HEADS, Width="Width (in)"), row(Width="72½")]),
        [("Bay", 2, "recess", Decimal("1841.5"), 1600, "left")],
    ),
    "numbers kept as text by an apostrophe": (separated([HEADS, row(Width="'1830", Drop="'1600"), STUDY]), BOTH),
    "vanes by their nominal inches": (
        separated([HEADS, row(Vane_width='3 1/2"'), row(STUDY, Vane_width="3.5 in")]),
        BOTH,
    ),
    "no vane width, since the fabric tells": (
        separated([HEADS, row(Vane_width="", Fabric="linden-89"), row(STUDY, Vane_width="", Fabric="LINDEN-89")]),
        BOTH,
    ),
    "German": (separated(GERMAN, by=";", encoding="cp1252"), BOTH),
    "French": (separated(FRENCH, by=";", encoding="utf-8"), BOTH),
    "Spanish": (separated(SPANISH), BOTH),
    "a spreadsheet": (files.one_sheet(), BOTH),
    "a spreadsheet whose table starts in C5": (files.one_sheet(at=(4, 2)), BOTH),
    "a spreadsheet with everything as text": (
        workbook(
            lambda book: (
                [book.add_worksheet().write_row(0, 0, HEADS)]
                and [
                    book.worksheets()[0].write_string(down, across, cell)
                    for down, line in enumerate((BAY, STUDY), 1)
                    for across, cell in enumerate(line)
                ]
            )
        ),
        BOTH,
    ),
    "a spreadsheet with formulas": (workbook(formulas), BOTH),
    "a spreadsheet with a title merged over its heads": (workbook(a_merged_title), BOTH),
    "a spreadsheet with a room merged over two rows": (
        workbook(a_merged_room),
        [("Lounge", *line[1:]) for line in BOTH],
    ),
    "a spreadsheet with a column formatted to the end": (workbook(a_formatted_column), BOTH),
    "a spreadsheet with prices on a hidden sheet before": (
        sheets(("Prices", [HEADS, row(Room="hidden")], True), ("Blinds", TWO, False)),
        BOTH,
    ),
    "a spreadsheet with a note first and the blinds on the second sheet": (
        sheets(("Read me", [["Please send blinds"]], False), ("Blinds", TWO, False)),
        BOTH,
    ),
    "a spreadsheet without shared strings": (
        workbook(lambda book: written(book.add_worksheet(), TWO), constant_memory=True),
        BOTH,
    ),
    "a spreadsheet whose elements bear a prefix": (prefixed(files.one_sheet()), BOTH),
    "a spreadsheet with macros": (
        files.repacked(files.one_sheet(), more={"xl/vbaProject.bin": b"\xd0\xcf\x11\xe0 never run"}),
        BOTH,
    ),
    "a spreadsheet with two sheets of blinds": (sheets(("Blinds", TWO, False), ("Upstairs", TWO, False)), BOTH),
    "a column of prices": (
        separated([[*line, price] for line, price in zip(TWO, ["Price", "9", "8"], strict=True)]),
        BOTH,
    ),
    "an open document": (files.open_document(), BOTH),
    "a spreadsheet of 1997 to 2003": (files.old_workbook(), BOTH),
}


# What of a good file is passed over, which its page must say.
PASSED_OVER = {
    "a letterhead above the heads": "Above the heads, and so not read: rows 1, 3.",
    "a spreadsheet with prices on a hidden sheet before": "Hidden, and so not read: Prices.",
    "a spreadsheet with two sheets of blinds": "Not read, though there are heads in it: sheet “Upstairs”.",
    "a column of prices": "Left out: column N (Price).",
    "a spreadsheet with formulas": "Some cells are formulas. What they came to when the file was saved is used",
    "a spreadsheet with macros": "The file brings macros. They were not run",
    "a spreadsheet with a room merged over two rows": "Column B, rows 2 to 3, is one merged cell: “Lounge” counts",
    "DOS 850": "Read as text in DOS 850, separated by comma.",
}


@pytest.mark.parametrize("name", PASSED_OVER)
def test_what_is_passed_over_or_may_look_otherwise_is_said(name):
    content, _ = GOOD[name]
    assert PASSED_OVER[name] in " ".join(looked(content).notes)


@pytest.mark.parametrize("name", GOOD)
def test_a_good_file_becomes_its_lines(name):
    content, expected = GOOD[name]
    preview = looked(content)
    assert problems(preview) == []
    assert lines(preview) == expected
    assert all(each.figured.components["rail_cut_mm"] for each in preview.rows)
