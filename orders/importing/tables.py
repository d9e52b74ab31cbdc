"""What a file holds once it is read: sheets of text, whatever program wrote them."""

from dataclasses import dataclass, field

from orders.importing.limits import MOST_CHARACTERS


class Unreadable(ValueError):
    """A file that can't be read as a table; the message says why and what to do."""


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """One table. `rows[0]` is row 1; `merged` holds (first row, first column, last row, last column), counted from 0.

    `separator`: the word for what separates the cells of a text file.
    """

    name: str
    rows: list[list[str]]
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    separator: str = ""

    @property
    def width(self):
        return max((len(row) for row in self.rows), default=0)


@dataclass(frozen=True, kw_only=True)
class Tables:
    """Every sheet of a file that can be seen, and `notes` about how it was read."""

    sheets: list[Sheet]
    notes: list[str] = field(default_factory=list)


_INVISIBLE = {ord(char): None for char in "\ufeff\u200b\u200e\u200f\u00ad"}
_BLANKS = {ord(char): " " for char in "\u00a0\u2007\u202f"}
_CONTROLS = dict.fromkeys((*range(9), 11, 12, *range(14, 32), 127), " ")
_TIDY = {**_INVISIBLE, **_BLANKS, **_CONTROLS, 13: "\n"}


def tidy(text):
    """A cell's text without what can't be seen; a text far too long is cut, and refused where its field is read."""
    text = text[: MOST_CHARACTERS + 1]
    # Most cells are plain figures and letters, which takes far less time to see than to put right.
    if not (text.isascii() and text.isprintable()):
        text = text.replace("\r\n", "\n").translate(_TIDY)
    return text.strip()


def trimmed(rows):
    """`rows` without the empty cells on the right and the empty rows below."""
    found = []
    for row in rows:
        cells = list(row)
        while cells and not cells[-1]:
            cells.pop()
        found.append(cells)
    while found and not found[-1]:
        found.pop()
    return found


def letter(column):
    """The letter over column 0, 1, 2…, as spreadsheets write it: A, B … Z, AA."""
    name, left = "", column + 1
    while left:
        left, rest = divmod(left - 1, 26)
        name = chr(ord("A") + rest) + name
    return name
