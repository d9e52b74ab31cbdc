"""Customers' files as different programs write them, made by hand: text files byte by byte, spreadsheets by a library
or part by part. All values are invented.
"""

import io
import struct
import zipfile

import xlsxwriter


def table(text):
    """Rows of a table written out, a bar between its cells."""
    return [[cell.strip() for cell in line.split("|")] for line in text.strip().splitlines()]


TWO = table("""
Ref    | Room  | Qty | Size basis | Width  | Drop | Vane width | Fabric       | Draw    | Hand | Operation      | Safety device | Chain
Flat 2 | Bay   | 2   | Recess     | 1830   | 1600 | 89         | Linden chalk | Split   | Left | Cord and chain | Tensioner     | Metal
Flat 2 | Study | 1   | Exact      | 1210.5 | 1400 | 89         | Linden chalk | One way | R    | Wand           |               |
""")  # noqa: E501 - a table
HEADS, BAY, STUDY = TWO


def row(like=BAY, /, **changed):
    """A row like another, with cells of other columns by their heads: `row(Width="72 in", Hand="links")`."""
    heads = [head.replace(" ", "_") for head in HEADS]
    return [changed.get(head, cell) for head, cell in zip(heads, like, strict=True)]


def separated(rows=TWO, *, by=",", end="\r\n", encoding="utf-8", quoted=False):
    """Rows as a text file; `quoted`: every cell in quotation marks, and those that need them in any case."""

    def cell(text):
        needs = quoted or any(sign in text for sign in (by, '"', "\n", "\r"))
        return '"' + text.replace('"', '""') + '"' if needs else text

    return "".join(by.join(map(cell, line)) + end for line in rows).encode(encoding)


def workbook(write, **options):
    """An .xlsx that `write(book)` fills."""
    made = io.BytesIO()
    with xlsxwriter.Workbook(made, {"in_memory": True, **options}) as book:
        write(book)
    return made.getvalue()


def written(sheet, rows, *, at=(0, 0)):
    """Rows put into a sheet as somebody types them: what looks like a number is one."""
    for down, cells in enumerate(rows):
        for across, cell in enumerate(cells):
            place = (at[0] + down, at[1] + across)
            try:
                sheet.write_number(*place, float(cell))
            except ValueError:
                sheet.write_string(*place, cell)
    return sheet


def one_sheet(rows=TWO, *, at=(0, 0), name="Sheet1"):
    return workbook(lambda book: written(book.add_worksheet(name), rows, at=at))


def repacked(content, *, change=None, more=None, drop=()):
    """A zip with parts changed (`change`: name to function), added or dropped."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            if name not in drop:
                part = old.read(name)
                new.writestr(name, (change or {}).get(name, lambda same: same)(part))
        for name, part in (more or {}).items():
            new.writestr(name, part)
    return made.getvalue()


def open_document(rows=TWO):
    """An .ods, written part by part (OASIS OpenDocument 1.3, parts 2 and 3): texts and numbers in one table."""

    def cell(text):
        try:
            float(text)
        except ValueError:
            return f'<table:table-cell office:value-type="string"><text:p>{text}</text:p></table:table-cell>'
        return f'<table:table-cell office:value-type="float" office:value="{text}"/>'

    names = "".join(
        f' xmlns:{short}="urn:oasis:names:tc:opendocument:xmlns:{short}:1.0"' for short in ("office", "table", "text")
    )
    lines = "".join(f"<table:table-row>{''.join(map(cell, line))}</table:table-row>" for line in rows)
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content{names} office:version="1.3"><office:body>'
        f'<office:spreadsheet><table:table table:name="Blinds">{lines}</table:table></office:spreadsheet>'
        "</office:body></office:document-content>"
    )
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    manifest = (
        '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
        f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/>'
        '<manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"/></manifest:manifest>'
    )
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as package:
        package.writestr("mimetype", kind)
        package.writestr("content.xml", content)
        package.writestr("META-INF/manifest.xml", manifest)
    return made.getvalue()


FREE, END, FAT = 0xFFFFFFFF, 0xFFFFFFFE, 0xFFFFFFFD
SECTOR = 512


def compound(name, stream):
    """A compound file ([MS-CFB]) with one stream: what old .xls files are, and .xlsx files with a password."""
    stream += b"\0" * (-len(stream) % SECTOR)
    stream = stream.ljust(4096 + SECTOR, b"\0")
    sectors = len(stream) // SECTOR
    fat = [FAT, END, *range(3, sectors + 2), END]
    fat += [FREE] * (SECTOR // 4 - len(fat))
    head = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 16 + struct.pack("<HHHHH", 0x3E, 3, 0xFFFE, 9, 6) + b"\0" * 6
    head += struct.pack("<IIIIIIIII", 0, 1, 1, 0, 4096, END, 0, END, 0) + struct.pack("<I", 0) + b"\xff" * (108 * 4)
    entries = _entry("Root Entry", 5, child=1) + _entry(name, 2, start=2, size=len(stream))
    entries += _entry("", 0) + _entry("", 0)
    return head + struct.pack(f"<{len(fat)}I", *fat) + entries + stream


def _entry(name, kind, *, child=FREE, start=None, size=0):
    """One entry of a compound file's directory, 128 bytes."""
    letters = name.encode("utf-16-le")
    start = (END if kind == 5 else 0) if start is None else start
    length = len(letters) + 2 if name else 0
    return (
        letters.ljust(64, b"\0")
        + struct.pack("<HBBIII", length, kind, 1, FREE, FREE, child)
        + b"\0" * 36
        + struct.pack("<IQ", start, size)
    )


def old_workbook(rows=TWO, *, password=False):
    """An .xls of the years 1997 to 2003 ([MS-XLS], BIFF8): LABEL and NUMBER records in one sheet."""

    def record(kind, body):
        return struct.pack("<HH", kind, len(body)) + body

    def cell(place, text):
        try:
            return record(0x203, struct.pack("<HHHd", *place, 0, float(text)))
        except ValueError:
            return record(0x204, struct.pack("<HHHHB", *place, 0, len(text), 1) + text.encode("utf-16-le"))

    begin = struct.pack("<HHHHII", 0x600, 5, 0x0DBB, 1996, 0, 6)
    locked = record(0x2F, b"\1\0" + b"\1\0\1\0" + b"\0" * 48) if password else b""
    name = b"Blinds"
    opening = record(0x809, begin) + locked
    sheet_at = len(opening) + 4 + 8 + len(name) + 4
    opening += record(0x85, struct.pack("<IBBBB", sheet_at, 0, 0, len(name), 0) + name) + record(0x0A, b"")
    cells = b"".join(
        cell((down, across), text) for down, line in enumerate(rows) for across, text in enumerate(line) if text
    )
    sheet = record(0x809, struct.pack("<HHHHII", 0x600, 0x10, 0x0DBB, 1996, 0, 6)) + cells + record(0x0A, b"")
    return compound("Workbook", opening + sheet)


def many_rows(count):
    return workbook(lambda book: written(book.add_worksheet(), [HEADS, *[BAY] * count]), constant_memory=True)


def sheets(*named, **options):
    """A workbook of several sheets: (name, rows, hidden)."""

    def write(book):
        for name, rows, hidden in named:
            sheet = written(book.add_worksheet(name), rows)
            if hidden:
                sheet.hide()
            else:
                sheet.activate()

    return workbook(write, **options)
