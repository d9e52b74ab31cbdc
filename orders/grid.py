"""All lines of an order as rows to type in: what each says so far, what follows from it, and what it still lacks."""

import re
from copy import copy

from orders import slips
from orders.entered_again import entered_again
from orders.entry import seen_of
from orders.grid_row import COLUMNS, Row
from orders.lines import constants_in_force, figured_line, line_field, position_in, totals
from orders.models import Fabric, HardwareSystem, Order, OrderLine
from orders.questions import answers_of, sized
from orders.row_form import RowForm, offered_fabrics, offered_systems
from orders.usual import Usual, usual_of

MOST_ROWS = 200
FIRST_ROWS, MORE_ROWS = 10, 3
BLANK = "__"
_NAME = re.compile(r"r([0-9]{1,4})-")


class Grid:
    """The rows of `order`, from what is stored alone or with what was `sent` over it."""

    def __init__(self, order: Order, *, sent=None, blank_rows=0):
        self.order, self.sent = order, sent
        self.stored = list(order.lines.in_order())
        self.seen = seen_of(self.stored)
        self.fabrics = offered_fabrics(Fabric.objects.for_lines(self.stored))
        self.systems = offered_systems(HardwareSystem.objects.by_name())
        self.constants = constants_in_force()
        self._usual = None
        self.rows = self._rows(blank_rows)
        for row in self.rows:
            self._read(row)
        self._ask()

    @property
    def one_system(self):
        """Whether there is no system to choose."""
        return len(self.systems.by_key) == 1

    @property
    def usual(self) -> Usual:
        if self._usual is None:
            self._usual = usual_of(self.order)
        return self._usual

    @property
    def counting(self):
        return [row for row in self.rows if row.counts]

    @property
    def totals(self):
        return totals([row for row in self.counting if row.components])

    @property
    def unfinished(self):
        """Rows that are begun and can't be made as they stand."""
        return [row for row in self.counting if not row.components]

    @property
    def blank(self):
        """The row that the browser makes new ones of."""
        return self._row(BLANK, 0)

    # Rows.

    def _rows(self, blank_rows):
        sent = self._sent_indices()
        by_position = {line.position: line for line in self.stored}
        rows, last = [], max(by_position, default=0)
        for index in sent:
            stored = by_position.pop(position_in(self.sent.get(f"r{index}-position", "")), None)
            last += stored is None
            rows.append(self._row(index, stored.position if stored else last, stored=stored, bound=True))
        free = max(sent, default=-1) + 1
        for index, line in enumerate(by_position.values(), start=free):
            rows.append(self._row(index, line.position, stored=line))
        free += len(by_position)
        blanks = min(blank_rows, MOST_ROWS - len(rows))
        rows += [self._row(free + more, last + 1 + more) for more in range(blanks)]
        return rows

    def _sent_indices(self):
        found = (_NAME.match(name) for name in self.sent or ())
        return sorted({int(each[1]) for each in found if each})[:MOST_ROWS]

    def _row(self, index, number, *, stored=None, bound=False):
        form = RowForm(
            self.sent if bound else None,
            prefix=f"r{index}",
            initial=None if bound else self._initial(stored),
            fabrics=self.fabrics,
            systems=self.systems,
        )
        right = frozenset(self.sent.getlist(f"r{index}-right")) if bound else frozenset()
        return Row(
            index=index,
            number=number,
            form=form,
            stored=stored,
            gone=bound and f"r{index}-gone" in self.sent,
            right=right,
        )

    def _initial(self, stored):
        if stored:
            return {name: getattr(stored, name) for name in COLUMNS}
        return {"quantity": 1, "fixing": "top", "bottom": "chain", **self.usual.choices}

    # What each row says.

    def _read(self, row):
        row.line = copy(row.stored) if row.stored else OrderLine(order=self.order)
        if not row.begun:
            return
        if row.form.is_bound:
            self._typed(row)
        row.figured = figured_line(
            line=row.line, market=self.order.market, system=self.constants.get(row.line.system_id)
        )
        quiet = {name for name, errors in row.form.errors.items()}
        row.findings = [found for found in row.figured.findings if line_field(found) not in quiet]
        if row.line.system_id and row.figured.components is None:
            message = f"{row.line.system} has no published revision. Ask a manager to publish one."
            row.findings.append({"severity": "refuse", "field": "system", "message": message})

    def _typed(self, row):
        for name, errors in row.form.errors.get_json_data().items():
            setattr(row.line, name, None)
            if all(error["code"] == "required" for error in errors):
                row.missing.append(row.form.fields[name].label.lower())
            else:
                row.problems += [(name, error["message"]) for error in errors]
        for name, value in row.form.cleaned_data.items():
            setattr(row.line, name, value)
        row.line.fixing, row.line.bottom = row.line.fixing or "top", row.line.bottom or "chain"

    # Questions.

    def _ask(self):
        counting = {row.number: row for row in self.counting}
        raised = slips.questions(
            [sized(row.line, self.constants.get(row.line.system_id), number=number) for number, row in counting.items()]
        )
        if not self.unfinished and (same := entered_again(self.order, [row.line for row in counting.values()])):
            raised.append(same)
        answers = answers_of(self.order)
        self.questions = []
        for question in raised:
            row = counting.get(question.number)
            key = f"{question.code}|{question.figures}"
            line = row.stored.pk if row and row.stored else None
            # An answer without a line is about the order: a row that isn't stored yet has none.
            given = None if row and line is None else answers.get((line, question.code, question.figures))
            ticked = row.right if row else (self.sent.getlist("right") if self.sent else ())
            said = {
                "id": f"right-{row.index if row else 'order'}-{question.code}",
                "name": f"r{row.index}-right" if row else "right",
                "key": key,
                "message": question.message,
                "right": key in ticked,
                "answer": given,
                "question": question,
            }
            (row.questions if row else self.questions).append(said)

    # What is to be written.

    @property
    def written(self):
        """The lines to be written: new ones, and those that say other than what is stored."""
        return [row.line for row in self.counting if row.changed]

    @property
    def taken_off(self):
        return [row.stored.position for row in self.rows if row.gone and row.stored]

    @property
    def answers(self):
        """(line or None, code, figures) of each question that is ticked 'It is right'."""
        of_rows = [(row.line, said) for row in self.counting for said in row.questions]
        every = [*of_rows, *((None, said) for said in self.questions)]
        return [(line, said["question"].code, said["question"].figures) for line, said in every if said["right"]]

    @property
    def problems(self):
        """Everything that stands in the way of saving, each with the id of its cell or row."""
        found = []
        for row in self.counting:
            form_errors = row.form.errors if row.form.is_bound else {}
            for name, errors in form_errors.items():
                found += [{"place": f"id_r{row.index}-{name}", "row": row, "message": each} for each in errors]
            for each in row.findings:
                if each["severity"] == "refuse":
                    named = line_field(each)
                    name = named if named in COLUMNS else "room"
                    found.append({"place": f"id_r{row.index}-{name}", "row": row, "message": each["message"]})
        return found
