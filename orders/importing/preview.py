"""A whole file as the orders that it would make, with every problem; nothing is written here."""

import datetime as dt
from dataclasses import dataclass

from orders.importing.catalogue import Catalogue
from orders.importing.heads import TITLES
from orders.importing.layout import Layout
from orders.importing.limits import MOST_ORDERS
from orders.importing.problems import Problem
from orders.importing.rows import ReadRow, RowReader
from orders.lines import line_field, outlined_line, totals

OF_THE_ORDER = ("due_on", "market")
FIRST_ROWS = 100


@dataclass(kw_only=True)
class ComingOrder:
    """The rows that make one order; `code` and `reference` as they give them."""

    code: str
    reference: str
    rows: list[ReadRow]
    due_on: dt.date | None
    market: str

    @property
    def totals(self):
        return totals([row.figured for row in self.rows if row.figured])

    @property
    def lines(self):
        return [row.line for row in self.rows]


@dataclass(kw_only=True)
class Preview:
    layout: Layout
    rows: list[ReadRow]
    orders: list[ComingOrder]
    problems: list[Problem]

    @property
    def ready(self):
        return bool(self.rows) and not self.problems

    @property
    def first_rows(self):
        """The rows that a page of many shows: the first, and some of those with something to say."""
        if len(self.rows) <= FIRST_ROWS:
            return self.rows
        wrong = [row for row in self.rows if row.problems][:FIRST_ROWS]
        minded = [row for row in self.rows if row.figured and row.figured.warnings][:FIRST_ROWS]
        numbers = {row.number for row in (*self.rows[:FIRST_ROWS], *wrong, *minded)}
        return [row for row in self.rows if row.number in numbers]

    @property
    def notes(self):
        return [*self.layout.tables.notes, *self.layout.sheet.notes, *self.layout.notes]

    @property
    def totals(self):
        return totals([row.figured for row in self.rows if row.figured])

    @property
    def warnings(self):
        """(row's number, finding) of what may be made and should be minded."""
        return [(row.number, found) for row in self.rows if row.figured for found in row.figured.warnings]


def preview_of(layout: Layout, *, usual, market, today, step=None, judged=False) -> Preview:
    """What the rows of `layout` come to; `usual` stands in where one says nothing.

    `market` is the customer's usual one. Orders whose rows want no day have none yet. `step` is called with the number
    of rows whose figures are known so far. Where a look at the same rows was `judged` and found nothing, none are
    worked out again.
    """
    reader = RowReader(columns=layout.columns, usual=usual, catalogue=Catalogue(), today=today)
    rows = [reader.read(number, cells) for number, cells in layout.rows]
    orders = _orders(rows, reader, market)
    known = {}
    for done, (row, order) in enumerate([] if judged else _each(orders), start=1):
        _figure(row, order, reader, known)
        if step:
            step(done)
    problems = layout.problems + [problem for row in rows for problem in row.problems]
    if len(orders) > MOST_ORDERS:
        message = f"The file makes {len(orders)} orders, and {MOST_ORDERS} are made at once. Divide it."
        problems.append(Problem.of_file(message))
    problems.sort(key=lambda problem: problem.row)
    return Preview(layout=layout, rows=rows, orders=orders, problems=problems)


def _each(orders):
    return ((row, order) for order in orders for row in order.rows)


def _orders(rows, reader, market):
    by_key = {}
    for row in rows:
        if row.said:
            by_key.setdefault(row.key, []).append(row)
    found = []
    for (code, reference), together in by_key.items():
        facts = {name: _agreed(together, name, reader) for name in OF_THE_ORDER}
        found.append(
            ComingOrder(
                code=code,
                reference=reference,
                rows=together,
                due_on=facts["due_on"],
                market=facts["market"] or market,
            )
        )
    return found


def _agreed(rows, name, reader):
    """What the rows of an order say of it; one that says something else than those before has a problem."""
    agreed, said_in = None, 0
    for row in rows:
        value = row.order.get(name)
        if value is not None and agreed is None:
            agreed, said_in = value, row.number
        elif value not in (None, agreed):
            message = f"Row {said_in} of the same order says otherwise, and an order has one. Correct one of the two."
            row.problems.append(
                Problem(row=row.number, column=reader.by_field.get(name), value=row.said.get(name, ""), message=message)
            )
    return agreed


def _figure(row, order, reader, known):
    """The figures of a row's line, and whatever refuses them as a problem of the row."""
    if row.line is None:
        return
    system = reader.catalogue.constants.get(row.line.system_id)
    if system is None:
        message = f"{row.line.system} has no published revision. Ask a manager to publish one."
        row.problems.append(Problem(row=row.number, name="system", message=message))
        return
    row.figured = outlined_line(line=row.line, market=order.market, system=system, known=known)
    for found in row.figured.refusals:
        name = line_field(found).removesuffix("_mm")
        name = name if name in TITLES else ""
        row.problems.append(
            Problem(
                row=row.number,
                column=reader.by_field.get(name),
                name=name,
                value=row.said.get(name, ""),
                message=found["message"],
            )
        )
