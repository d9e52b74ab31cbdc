"""Spreadsheets (.xlsx, .xlsm, .ods, .xls), read by a program of its own within limits of memory and time.

A formula counts as the value that the file keeps beside it, which is what its writer saw when it was saved.
Macros are never run.
"""

import json
import subprocess
import sys
from pathlib import Path

from orders.importing.limits import HEAD_WITHIN, MOST_COLUMNS, MOST_ROWS, MOST_SHEETS
from orders.importing.tables import Sheet, Tables, Unreadable, tidy, trimmed

READER = Path(__file__).with_name("sheet_reader.py")
PATIENCE_S = 20
MOST_READ = MOST_ROWS + HEAD_WITHIN
TOO_LARGE = b'{"refused": "too_large"}'

TOO_MANY = f"has more than {MOST_READ} rows, and {MOST_ROWS} blinds' rows are read at once. Divide it into several."
REASONS = {
    "password": "The file is protected by a password. Ask for it without one, or open it and save it without.",
    "broken": "The file is damaged, or is no spreadsheet whatever its name says. Open it and save it anew as .xlsx.",
    "too_large": "The file unpacks to far more than an order has, or has cells far from its table. "
    "Copy the rows of the blinds alone to a new sheet and save that.",
    "too_many_rows": f"A sheet {TOO_MANY}",
}


def read_workbook(content: bytes) -> Tables:
    """Every sheet that can be seen, a chosen number of rows of each. Raises Unreadable."""
    return tables_of(answer_about(content))


def answer_about(content: bytes) -> bytes:
    """What the reader says of a spreadsheet: JSON that tables_of reads as often as is needed."""
    command = [sys.executable, "-I", str(READER), *map(str, (MOST_READ, MOST_COLUMNS, MOST_SHEETS))]
    try:
        done = subprocess.run(command, input=content, capture_output=True, timeout=PATIENCE_S)  # noqa: S603 - our own
    except subprocess.TimeoutExpired:
        return TOO_LARGE
    # Ended by the limits that it had set itself.
    return TOO_LARGE if done.returncode < 0 else done.stdout


def tables_of(answer: bytes) -> Tables:
    """The sheets in an answer of the reader. Raises Unreadable."""
    try:
        said = json.loads(answer)
    except ValueError:
        said = {"refused": "broken"}
    if "refused" in said:
        raise Unreadable(REASONS[said["refused"]])
    sheets = [_sheet(each) for each in said["sheets"]]
    notes = [f"Hidden, and so not read: {', '.join(said['hidden'])}."] if said["hidden"] else []
    if said["left"]:
        notes.append(f"Only the first {MOST_SHEETS} sheets are read; left out: {', '.join(said['left'])}.")
    if said["macros"]:
        notes.append("The file brings macros. They were not run; ask for it as .xlsx.")
    return Tables(sheets=[each for each in sheets if each.rows], notes=notes)


def _sheet(said):
    if said.get("refused") == "too_wide":
        raise Unreadable(
            f"Sheet “{said['name']}” has more than {MOST_COLUMNS} columns. Take out what is no order, or hide it."
        )
    rows = trimmed([[tidy(cell) for cell in row] for row in said["rows"]])
    if len(rows) > MOST_READ:
        raise Unreadable(f"Sheet “{said['name']}” {TOO_MANY}")
    notes = []
    if said["formulas"]:
        notes.append(
            "Some cells are formulas. What they came to when the file was saved is used: compare it with what the "
            "customer sees."
        )
    return Sheet(name=said["name"], rows=rows, merged=[tuple(each) for each in said["merged"]], notes=notes)
