"""Reads a spreadsheet given on standard input and writes its sheets as JSON; a program of its own, run by workbooks.py.

A file may be made to ask for more memory than there is, which ends whoever reads it: so this one reads within limits
that it sets itself, and knows nothing of the workshop.
"""

import contextlib
import datetime as dt
import io
import json
import re
import resource
import sys
import zipfile
from xml.etree import ElementTree

MEMORY_BYTES = 900_000_000
SECONDS = 5
MOST_UNPACKED_BYTES = 60_000_000
TEXT_KEPT = 1_001

_CELL = re.compile(rb"<(?:\w+:)?c\b([^>]*)>(.*?)</(?:\w+:)?c>", re.DOTALL)
_REF = re.compile(rb"""\br=["']([A-Z]{1,3})([0-9]{1,7})["']""")
_ERROR = re.compile(rb"""\bt=["']e["']""")
_VALUE = re.compile(rb"<(?:\w+:)?v>(.*?)</(?:\w+:)?v>", re.DOTALL)
_FORMULA = re.compile(rb"<(?:\w+:)?f[\s/>]")
_DIMENSION = re.compile(rb"""<(?:\w+:)?dimension\b[^>]*\bref=["'](?:[A-Z]+[0-9]+:)?[A-Z]+([0-9]+)["']""")
# In a compound file: the parts of a locked .xlsx ([MS-OFFCRYPTO]), or a FILEPASS record after an .xls's beginning.
_LOCKED_PACKAGE = "EncryptedPackage".encode("utf-16-le")
_LOCKED_BOOK = re.compile(rb"\x09\x08\x10\x00.{16}\x2f\x00", re.DOTALL)
_RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"


class Refusal(Exception):
    """A file that isn't read; the message is the code of the reason."""


def main(most_rows, most_columns, most_sheets):
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    content = sys.stdin.buffer.read()
    try:
        answer = read(content, most_rows=most_rows, most_columns=most_columns, most_sheets=most_sheets)
    except Refusal as refusal:
        answer = {"refused": str(refusal)}
    except MemoryError:
        answer = {"refused": "too_large"}
    json.dump(answer, sys.stdout)


def read(content, *, most_rows, most_columns, most_sheets):
    import python_calamine

    package = open_package(content)
    parts = worksheet_parts(package) if package else {}
    try:
        book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(content))
    except python_calamine.PasswordError:
        raise Refusal("password") from None
    except python_calamine.CalamineError:
        raise Refusal("broken") from None
    sheets, hidden, left = [], [], []
    for index, about in enumerate(book.sheets_metadata):
        if about.typ != python_calamine.SheetTypeEnum.WorkSheet:
            continue
        if about.visible != python_calamine.SheetVisibleEnum.Visible:
            hidden.append(about.name)
        elif len(sheets) == most_sheets:
            left.append(about.name)
        else:
            looked = looked_through(package, parts.get(about.name), most_rows)
            try:
                sheet = book.get_sheet_by_index(index)
                sheets.append({"name": about.name, **looked, **cells(sheet, looked, most_rows, most_columns)})
            except python_calamine.CalamineError:
                raise Refusal("broken") from None
    if not sheets and not hidden:
        raise Refusal("broken")
    return {"sheets": sheets, "hidden": hidden, "left": left, "macros": has_macros(package)}


def open_package(content):
    """The zip that xlsx and ods are, once its sizes are looked at; None for another kind of file."""
    if not content.startswith(b"PK"):
        if _LOCKED_PACKAGE in content or _LOCKED_BOOK.search(content):
            raise Refusal("password")
        return None
    try:
        package = zipfile.ZipFile(io.BytesIO(content))
    except (zipfile.BadZipFile, ValueError, NotImplementedError):
        raise Refusal("broken") from None
    if sum(each.file_size for each in package.infolist()) > MOST_UNPACKED_BYTES:
        raise Refusal("too_large")
    if any(each.flag_bits & 1 for each in package.infolist()):
        raise Refusal("password")
    if "META-INF/manifest.xml" in package.namelist() and b"encryption-data" in part(package, "META-INF/manifest.xml"):
        raise Refusal("password")
    return package


def part(package, name):
    """One part of the zip, as large as it says it is and no larger."""
    try:
        with package.open(name) as opened:
            return opened.read(MOST_UNPACKED_BYTES)
    except Exception as error:  # a damaged zip fails in many ways, zlib's own among them
        raise Refusal("broken") from error


def has_macros(package):
    return bool(package) and any(name.endswith("vbaProject.bin") for name in package.namelist())


def worksheet_parts(package):
    """The part of each sheet of an xlsx, by the sheet's name; none where the file names them otherwise."""
    names = set(package.namelist())
    if not {"xl/workbook.xml", "xl/_rels/workbook.xml.rels"} <= names:
        return {}
    found = {}
    with contextlib.suppress(ElementTree.ParseError):
        relations = ElementTree.fromstring(part(package, "xl/_rels/workbook.xml.rels"))  # noqa: S314 - within limits
        targets = {each.get("Id"): each.get("Target", "") for each in relations}
        for sheet in ElementTree.fromstring(part(package, "xl/workbook.xml")).iter():  # noqa: S314 - within limits
            target = targets.get(sheet.get(_RELATION), "") if sheet.tag.endswith("}sheet") else ""
            path = target.removeprefix("/") if target.startswith("/") else f"xl/{target}"
            if path in names:
                found[sheet.get("name")] = path
    return found


def looked_through(package, name, most_rows):
    """What the sheet's own part says beside its values: formulas, and where an error stands in place of one."""
    if not name:
        return {"formulas": False, "errors": {}}
    said = part(package, name)
    dimension = _DIMENSION.search(said[:4000])
    # A whole column that is only formatted stretches it too, so that the rows with something in them decide.
    if dimension and int(dimension[1]) > most_rows and said.count(b"<v>") + said.count(b"<t") > 60 * most_rows:
        raise Refusal("too_many_rows")
    errors = {}
    for about, inside in _CELL.findall(said) if b't="e"' in said or b"t='e'" in said else ():
        place, value = _REF.search(about), _VALUE.search(inside)
        if place and _ERROR.search(about):
            errors[f"{int(place[2]) - 1}:{column(place[1])}"] = value[1].decode(errors="replace") if value else "#ERROR"
    return {"formulas": bool(_FORMULA.search(said)), "errors": errors}


def column(letters):
    number = 0
    for each in letters:
        number = number * 26 + each - ord("A") + 1
    return number - 1


def cells(sheet, looked, most_rows, most_columns):
    if sheet.total_width > most_columns and any(any(row[most_columns:]) for row in sheet.to_python(False, most_rows)):
        return {"rows": [], "refused": "too_wide", "merged": []}
    rows = [[text(value) for value in row[:most_columns]] for row in sheet.to_python(False, most_rows + 1)]
    for place, value in looked["errors"].items():
        row, number = map(int, place.split(":"))
        if row < len(rows) and number < len(rows[row]):
            rows[row][number] = value
    return {"rows": rows, "merged": [[*first, *last] for first, last in sheet.merged_cell_ranges or ()]}


def text(value):
    """A cell as its text. A number without the dust of binary fractions; a day as year-month-day."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else f"{value:.12g}"
    if isinstance(value, dt.datetime):
        return value.date().isoformat() if value.time() == dt.time() else value.isoformat(" ", "minutes")
    if isinstance(value, (dt.date, dt.time, dt.timedelta)):
        return str(value)
    return str(value)[:TEXT_KEPT]


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
