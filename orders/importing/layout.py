"""Where a file's table is: which sheet, which row has the heads, which rows are blinds, what its merged cells mean."""

from dataclasses import dataclass, field

from orders.importing.columns import Column, columns_of, has_unit_row, head_row, recognised, taken_twice
from orders.importing.heads import TITLES
from orders.importing.limits import HEAD_WITHIN, MOST_ROWS
from orders.importing.problems import Problem
from orders.importing.tables import Sheet, Tables, letter

NEVER_FILLED = "quantity"
"""Merged over several rows it could be their sum or each row's."""


@dataclass(kw_only=True)
class Layout:
    """`head`: the row of the heads, from 1; 0: none. `rows`: (number from 1, cells) of what may be blinds."""

    tables: Tables
    sheet: Sheet
    number: int
    head: int
    columns: list[Column]
    rows: list[tuple[int, list[str]]]
    left_out: set[int]
    problems: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def samples(self):
        """Each column with its first few values, to tell what it is."""
        return [
            (column, list(dict.fromkeys(row[column.number] for _, row in self.rows if row[column.number]))[:4])
            for column in self.columns
        ]


def layout_of(tables: Tables, *, choices, remembered) -> Layout:
    """As chosen; what isn't is as `remembered` of the customer, else found out."""
    known = frozenset(remembered)
    number = _within(choices.get("sheet"), len(tables.sheets) - 1)
    number = _likeliest(tables, known) if number is None else number
    sheet = tables.sheets[number]
    head = _within(choices.get("head"), len(sheet.rows))
    head = head_row(sheet, known) if head is None else head
    columns = _chosen(columns_of(sheet, head=head, remembered=remembered), choices.get("columns"))
    left_out, problems = left_out_rows(choices.get("left_out", ""))
    layout = Layout(
        tables=tables,
        sheet=sheet,
        number=number,
        head=head,
        columns=columns,
        rows=[],
        left_out=left_out,
        problems=problems,
    )
    _check_columns(layout)
    cells = _unmerged(layout)
    layout.rows = list(_blinds(layout, cells))
    layout.notes[:0] = _not_read(layout, tables, known)
    _check_rows(layout)
    return layout


def _within(chosen, most):
    return chosen if isinstance(chosen, int) and 0 <= chosen <= most else None


def _likeliest(tables, known):
    counts = [max((recognised(row, known) for row in sheet.rows[:HEAD_WITHIN]), default=0) for sheet in tables.sheets]
    return counts.index(max(counts))


def _chosen(columns, chosen):
    if not chosen or len(chosen) != len(columns):
        return columns
    return [Column(column.number, column.head, *pair) for column, pair in zip(columns, chosen, strict=True)]


def left_out_rows(text):
    """The rows named in a text such as `12, 15-17`, and a problem for each word of it that names none."""
    rows, problems = set(), []
    for word in text.replace(";", ",").split(","):
        first, dash, last = word.strip().replace("–", "-").partition("-")
        ends = [each.strip() for each in ((first, last) if dash else (first, first))]
        if not word.strip():
            continue
        if all(end.isascii() and end.isdecimal() and len(end) < 7 for end in ends):
            rows.update(range(int(ends[0]), min(int(ends[1]), MOST_ROWS + HEAD_WITHIN) + 1))
        else:
            problems.append(Problem.of_file(f"“{word.strip()[:20]}” names no rows to leave out. Type 12 or 15-17."))
    return rows, problems


def _check_columns(layout):
    if not any(column.field for column in layout.columns):
        message = "No column is known by its head. Say which row has the heads, or what each column is."
        layout.problems.append(Problem.of_file(message))
    for name, columns in taken_twice(layout.columns).items():
        letters = " and ".join(column.letter for column in columns)
        layout.problems.append(
            Problem.of_file(f"Columns {letters} are both taken as {TITLES[name]}. Leave out all but one.")
        )


def _not_read(layout, tables, known):
    """What of the file is passed over, so that nobody takes it for ordered."""
    above = [number for number, row in enumerate(layout.sheet.rows[: max(layout.head - 1, 0)], start=1) if any(row)]
    if above:
        yield f"Above the heads, and so not read: row{'s' if len(above) > 1 else ''} {_listed(above)}."
    others = [sheet for sheet in tables.sheets if sheet is not layout.sheet and head_row(sheet, known)]
    if others:
        yield f"Not read, though there are heads in it: sheet {_listed(f'“{sheet.name}”' for sheet in others)}."
    left_out = [f"{column.letter} ({column.head or 'no head'})" for column in layout.columns if not column.field]
    if left_out:
        yield f"Left out: column {_listed(left_out)}."


def _listed(things, most=12):
    said = [str(each) for each in things]
    return ", ".join(said[:most]) + (f" and {len(said) - most} more" if len(said) > most else "")


def _first_blind(layout):
    return layout.head + (1 if has_unit_row(layout.sheet, layout.head) else 0)


def _unmerged(layout):
    """Every row as wide as the table; a cell merged over rows of a column stands in each of them."""
    width = layout.sheet.width
    cells = [row + [""] * (width - len(row)) for row in layout.sheet.rows]
    taken = {column.number: column for column in layout.columns if column.field}
    for top, left, bottom, right in layout.sheet.merged:
        if top < _first_blind(layout) or top + 1 in layout.left_out or top >= len(cells) or left >= width:
            continue
        across = [taken[number] for number in range(left, right + 1) if number in taken]
        if len(across) > 1:
            letters = f"{letter(left)} to {letter(right)}"
            message = f"Its cells {letters} are merged into one. Part them and give each column its value."
            layout.problems.append(Problem(row=top + 1, message=message))
        elif across and bottom > top:
            _fill_down(layout, cells, across[0], (top, bottom))
    return cells


def _fill_down(layout, cells, column, ends):
    top, bottom = ends
    value, rows = cells[top][column.number], f"{top + 1} to {bottom + 1}"
    if column.field == NEVER_FILLED:
        message = f"One merged cell for rows {rows}. Part it and give each row its own quantity."
        layout.problems.append(Problem(row=top + 1, column=column, value=value, message=message))
        return
    for row in cells[top : bottom + 1]:
        row[column.number] = value
    layout.notes.append(
        f"Column {column.letter}, rows {rows}, is one merged cell: “{value[:40]}” counts for each of them."
    )


def _blinds(layout, cells):
    taken = [column.number for column in layout.columns if column.field]
    head = cells[layout.head - 1] if layout.head else None
    for number, row in enumerate(cells, start=1):
        if number <= _first_blind(layout) or number in layout.left_out or row == head:
            continue
        if any(row[column] for column in taken):
            yield number, row


def _check_rows(layout):
    if not layout.rows:
        layout.problems.append(
            Problem.of_file("No blind stands below the head. Choose another sheet, or the right row of the head.")
        )
    if len(layout.rows) > MOST_ROWS:
        message = f"The table has {len(layout.rows)} rows, and {MOST_ROWS} are taken in at once. Divide the file."
        layout.problems.append(Problem.of_file(message))
    if not layout.sheet.separator or not layout.head:
        return
    width, sign = len(layout.sheet.rows[layout.head - 1]), layout.sheet.separator
    for number, row in layout.rows:
        more = [cell for cell in row[width:] if cell]
        if more:
            message = (
                f"It has more cells than there are heads. A {sign} inside a value, such as a decimal comma, must stand "
                "in quotation marks; or save the table as .xlsx."
            )
            layout.problems.append(Problem(row=number, value=more[-1], message=message))
