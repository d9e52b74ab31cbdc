"""A customer's file as tables of text, whatever kind of file it is."""

from orders.importing.limits import MOST_BYTES
from orders.importing.separated import read_separated
from orders.importing.tables import Tables, Unreadable
from orders.importing.workbooks import answer_about, read_workbook, tables_of

ZIP, COMPOUND = b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
OTHER_KINDS = (
    (b"%PDF", "a PDF"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"{\\rtf", "a text document"),
    (b"\x1f\x8b", "a packed archive"),
    (b"7z\xbc\xaf", "a packed archive"),
    (b"Rar!", "a packed archive"),
    (b"\x7fELF", "a program"),
    (b"MZ", "a program"),
)
CELLS = b"\0cells\0"
"""Stands before a spreadsheet's cells that are kept: no text that can be read begins so."""
MOST_KEPT = 20_000_000
MARKUP = (b"<html", b"<!doctype", b"<?xml", b"<table")


def read(content: bytes, *, known=frozenset()) -> Tables:
    """The sheets in `content` with at least one row. `known` are heads that this customer's files have had.

    Raises Unreadable.
    """
    _refuse_other_kinds(content)
    return _with_rows(read_workbook(content) if _is_workbook(content) else read_separated(content, known=known))


def to_keep(content: bytes, *, known=frozenset()) -> bytes:
    """What is kept of a file for read_kept, once it is read: a text as it is, of a spreadsheet its cells.

    So a spreadsheet's own reader is asked once. Raises Unreadable.
    """
    _refuse_other_kinds(content)
    if not _is_workbook(content):
        _with_rows(read_separated(content, known=known))
        return content
    answer = answer_about(content)
    _with_rows(tables_of(answer))
    return CELLS + answer if len(answer) <= MOST_KEPT else content


def read_kept(kept: bytes, *, known=frozenset()) -> Tables:
    """As read, of what to_keep made of a file."""
    return _with_rows(tables_of(kept.removeprefix(CELLS))) if kept.startswith(CELLS) else read(kept, known=known)


def _refuse_other_kinds(content):
    if len(content) > MOST_BYTES:
        raise Unreadable(
            f"The file is larger than {MOST_BYTES // 1_000_000} MB; 10,000 rows take less than half of that. "
            "Take out pictures and what is no order, or divide it."
        )
    if not content.strip():
        raise Unreadable("The file is empty. Choose the one with the blinds in it.")
    for start, kind in OTHER_KINDS:
        if content.startswith(start):
            raise Unreadable(f"The file is {kind}, no table. Ask for the blinds as .xlsx or .csv, or use our template.")
    if content.lstrip(b"\xef\xbb\xbf \t\r\n")[:9].lower().startswith(MARKUP):
        raise Unreadable("The file is a web page or XML, whatever its name says. Open it and save it as .xlsx or .csv.")


def _is_workbook(content):
    return content.startswith((ZIP, COMPOUND))


def _with_rows(tables):
    if not any(any(row) for sheet in tables.sheets for row in sheet.rows):
        raise Unreadable("The file has no row with anything in it, or only on hidden sheets. Choose another.")
    return tables
