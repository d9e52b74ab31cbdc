"""Files that can't be read, some of them made to do harm: each is refused quickly, with the reason and the way out."""

import re
import struct
import zlib
from functools import cache

import pytest

from orders.importing.reading import read
from orders.importing.tables import Unreadable
from tests.orders import made_files as files
from tests.orders.made_files import BAY, HEADS, TWO, many_rows, separated, sheets, workbook, written


def a_far_cell(book):
    sheet = written(book.add_worksheet(), TWO)
    sheet.write_number(1_048_575, 16_383, 1)


pytestmark = pytest.mark.once

EMPTY_SHEET = b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData/></worksheet>'
BOMB = EMPTY_SHEET + b" " * 61_000_000


@cache
def a_bomb():
    """A small zip whose sheet unpacks to 61 MB, and says so."""
    return files.repacked(files.one_sheet(), change={"xl/worksheets/sheet1.xml": lambda _: BOMB})


def a_lying_bomb(*, clever=False):
    """The same, which says that it unpacks to 100 bytes; `clever`: with the check sum of those."""
    said = {struct.pack("<I", len(BOMB)): struct.pack("<I", 100)}
    if clever:
        said[struct.pack("<I", zlib.crc32(BOMB))] = struct.pack("<I", zlib.crc32(BOMB[:100]))
    content = a_bomb()
    for true, lie in said.items():
        assert content.count(true) == 2
        content = content.replace(true, lie)
    return content


def billion_laughs():
    """An .xlsx whose shared texts are entities of entities (CWE-776)."""
    entities = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 12))
    head = f'<?xml version="1.0"?><!DOCTYPE sst [<!ENTITY e0 "laugh">{entities}]>'.encode()
    change = {"xl/sharedStrings.xml": lambda part: head + part.split(b"?>", 1)[1].replace(b"<t>Bay", b"<t>&e11;")}
    return files.repacked(files.one_sheet(), change=change)


UNREADABLE = {
    "empty": (b"", "The file is empty"),
    "blanks alone": (b" \r\n\r\n", "The file is empty"),
    "separators alone": (b",,,\r\n,,,\r\n", "no row with anything in it"),
    "a PDF": (b"%PDF-1.7\n...", "The file is a PDF, no table"),
    "a picture": (b"\x89PNG\r\n\x1a\n...", "The file is a picture, no table"),
    "a program": (b"MZ\x90\0\x03...", "The file is a program, no table"),
    "a web page that is called .xls": (b"<html><table><tr><td>1830</td></tr></table></html>", "a web page or XML"),
    "XML that is called .xls": (b'<?xml version="1.0"?><Workbook/>', "a web page or XML"),
    "bytes of nothing known": (bytes(range(256)) * 20, "bytes that are no text"),
    "noughts among letters": (separated().replace(b"Bay", b"B\0y"), "bytes that are no text"),
    "the mark of UTF-8 before something else": (
        b"\xef\xbb\xbfWidth,Drop\r\n\xff\xfe,1",
        "begins as UTF-8 text, and byte 16",
    ),
    "a text file of a million rows": (separated([HEADS]) + b"1,2\n" * 1_000_000, "more than 10030 rows"),
    "a row of a thousand cells": (separated([HEADS, ["1"] * 1000]), "Row 2 has 1000 cells, and 60 columns are read"),
    "a quotation mark that is never closed": (
        separated([HEADS]) + b'"' + separated([BAY] * 2000),
        "A quotation mark may not be closed",
    ),
    "more than 5 MB": (b"1,2\r\n" * 1_200_000, "larger than 5 MB"),
    "a spreadsheet of 20 000 rows": (many_rows(20_000), "more than 10030 rows"),
    "a spreadsheet with a cell in its last corner": (workbook(a_far_cell), "cells far from its table"),
    "a spreadsheet of 200 columns": (files.one_sheet([[str(n) for n in range(200)]] * 2), "more than 60 columns"),
    "a spreadsheet with every sheet hidden but an empty one": (
        sheets(("Blinds", [], False), ("Prices", TWO, True)),
        "only on hidden sheets",
    ),
    "a zip bomb": (a_bomb(), "unpacks to far more than an order has"),
    "a zip bomb that lies about its size": (a_lying_bomb(), "The file is damaged"),
    "a zip bomb that lies about its check sum too": (a_lying_bomb(clever=True), "The file is damaged"),
    "entities of entities": (billion_laughs(), "The file is damaged"),
    "half a spreadsheet": (files.one_sheet()[:3000], "The file is damaged"),
    "a zip of something else": (files.repacked(files.one_sheet(), drop=["xl/workbook.xml"]), "The file is damaged"),
    "a spreadsheet with a password": (
        files.compound("EncryptedPackage", b"\x40\0\0\0" * 2000),
        "protected by a password",
    ),
    "an old spreadsheet with a password": (files.old_workbook(password=True), "protected by a password"),
    "an old spreadsheet that is broken off": (files.old_workbook()[:1500], "The file is damaged"),
}


@pytest.mark.parametrize("name", UNREADABLE)
def test_a_file_that_cannot_be_read_is_refused_with_the_reason_and_the_way_out(name):
    content, expected = UNREADABLE[name]
    with pytest.raises(Unreadable, match=re.escape(expected)):
        read(content)
