"""Text files of separated values, as different programs write them: encoding, line ends and separator are found out."""

import csv
import io

from orders.importing.columns import recognised
from orders.importing.limits import HEAD_WITHIN, MOST_COLUMNS, MOST_ROWS
from orders.importing.tables import Sheet, Tables, Unreadable, tidy, trimmed

SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
MOST_SEEN = 50
_BOMS = ((b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))
_NAMES = {"utf-8": "UTF-8", "utf-16-le": "UTF-16", "utf-16-be": "UTF-16", "cp1252": "Windows-1252", "cp850": "DOS 850"}
NEUTRALISED = ("=", "+", "-", "@", "\t", "\r", "'")
"""What a spreadsheet would take for the start of a formula; our own files put an apostrophe before it."""


def read_separated(content: bytes, *, known=frozenset()) -> Tables:
    """The one table of a text file. `known` are heads that this customer's files have had. Raises Unreadable."""
    text, encoding = decoded(content)
    separator, text = _separator(text, known)
    rows, more = _rows(text, separator)
    notes = [f"Read as text in {_NAMES[encoding]}, separated by {SEPARATORS[separator]}."]
    if encoding.startswith("cp"):
        notes.append("The file doesn't say how its letters are written. Where one looks wrong, save it as UTF-8.")
    if more:
        raise Unreadable(
            f"The file has more than {MOST_ROWS + HEAD_WITHIN} rows, and {MOST_ROWS} blinds' rows are read at once. "
            "Divide it into several files."
        )
    return Tables(sheets=[Sheet(name="", rows=trimmed(rows), separator=SEPARATORS[separator])], notes=notes)


def decoded(content):
    """The text and how it was encoded: by its mark, else UTF-8, else the likelier of two old code pages."""
    for mark, encoding in _BOMS:
        if content.startswith(mark):
            return _decoded(content[len(mark) :], encoding, before=len(mark)), encoding
    if b"\0" in content:
        return _without_mark(content)
    try:
        return content.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        return max(
            ((content.decode(page, errors="replace"), page) for page in ("cp1252", "cp850")),
            key=lambda found: _looks_written(found[0]),
        )


def _decoded(content, encoding, *, before=0):
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError as error:
        raise Unreadable(
            f"The file begins as {_NAMES[encoding]} text, and byte {before + error.start + 1} is none. "
            "Save it again as “CSV UTF-8”, or as .xlsx."
        ) from error
    if "\0" in text:
        raise _binary()
    return text


def _without_mark(content):
    """UTF-16 gives every second byte of plain text a nought; a nought anywhere else is no text."""
    half = len(content) // 2
    for start, encoding in ((1, "utf-16-le"), (0, "utf-16-be")):
        if half and content[start::2].count(0) > 0.7 * half and content[1 - start :: 2].count(0) == 0:
            return _decoded(content, encoding), encoding
    raise _binary()


def _binary():
    return Unreadable(
        "The file holds bytes that are no text. Save the table as .xlsx or as “CSV UTF-8” and choose that."
    )


def _looks_written(text):
    """Letters among letters speak for a code page; signs among letters, and capitals inside a word, against it."""
    score = 0
    for before, char, after in zip(" " + text, text, text[1:] + " ", strict=False):
        if ord(char) < 128:
            continue
        inside = before.isalpha() or after.isalpha()
        if char.isalpha():
            score += 1 if char.islower() or not before.islower() else -1
        elif inside or char == "\ufffd":
            score -= 1
    return score


def _separator(text, known):
    """The separator that gives most heads that are known, then most rows as wide as the others; Excel may say it."""
    first, _, rest = text.partition("\n")
    said = first.strip().strip('"')
    if said.casefold().startswith("sep=") and said[4:] in SEPARATORS:
        return said[4:], "\n" + rest
    start = text[:200_000]
    return max(SEPARATORS, key=lambda each: _fit(start, each, known)), text


def _fit(text, separator, known):
    try:
        rows, _ = _rows(text, separator, most=MOST_SEEN)
    except Unreadable:
        return (0, 0)
    widths = [len(row) for row in trimmed(rows) if row]
    usual = max(set(widths), key=widths.count, default=0)
    heads = max((recognised(row, known) for row in rows[:HEAD_WITHIN]), default=0)
    return (heads, widths.count(usual) if usual > 1 else 0)


def _rows(text, separator, *, most=MOST_ROWS + HEAD_WITHIN):
    """(rows, whether there are more) of `text`; reading stops there."""
    rows = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    try:
        for row in reader:
            if len(rows) == most:
                return rows, any(map(any, (row, *reader)))
            rows.append(_cells(row, len(rows) + 1))
    except csv.Error as error:
        raise Unreadable(
            f"Row {len(rows) + 1} can't be read: {error}. A quotation mark may not be closed. Mend it, or save the "
            "table as .xlsx."
        ) from error
    return rows, False


def _cells(row, number):
    while row and not row[-1].strip():
        row.pop()
    if len(row) > MOST_COLUMNS:
        raise Unreadable(
            f"Row {number} has {len(row)} cells, and {MOST_COLUMNS} columns are read. Take out what is no order."
        )
    return [tidy(_plain(cell)) for cell in row]


def _plain(cell):
    """Without the apostrophe that keeps a spreadsheet from taking the text for a formula."""
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(NEUTRALISED) else cell
