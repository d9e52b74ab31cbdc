"""One row of an order's grid: what it says so far, what follows from it, and its cells as they are typed in."""

from dataclasses import dataclass, field

from orders.models import OrderLine
from orders.row_form import RowForm

COLUMNS = tuple(RowForm.base_fields)
# What starts a row: the rest stands in every row from the outset.
TYPED = ("room", "size_basis", "width_mm", "drop_mm", "hand")


@dataclass(kw_only=True)
class Row:
    """One row: `index` is its place in the form, `number` what it is called, `stored` the line as it is kept, or None.

    The rest follows from what is typed: `line` as far as it can be read, `missing` labels, `problems` of what can't be
    read as (field, message), its figures, and `questions` as dicts of key, message, `right` where that is ticked now,
    and `answer` where it was given before.
    """

    index: int | str
    number: int
    form: RowForm
    stored: OrderLine | None = None
    gone: bool = False
    right: frozenset = frozenset()
    line: OrderLine | None = None
    figured: object = None
    missing: list = field(default_factory=list)
    problems: list = field(default_factory=list)
    findings: list = field(default_factory=list)
    questions: list = field(default_factory=list)

    @property
    def begun(self):
        """Whether anything is said in it; a new row that only holds what every row starts with says nothing."""
        if self.stored:
            return True
        return any(self.text(name) for name in TYPED) or self.text("quantity") not in ("", "1")

    @property
    def counts(self):
        return self.begun and not self.gone

    def text(self, name):
        value = self.form[name].value()
        return "" if value is None else str(value).strip()

    @property
    def refusals(self):
        return [found["message"] for found in self.findings if found["severity"] == "refuse"]

    @property
    def warnings(self):
        return [found["message"] for found in self.findings if found["severity"] == "warn"]

    @property
    def components(self):
        """Its figures, once the whole of it can be made."""
        whole = self.figured and not self.missing and not self.problems and not self.refusals
        return self.figured.components if whole else None

    @property
    def readings(self):
        return self.form.readings() if self.form.is_bound else []

    @property
    def changed(self):
        """Whether it says other than what is stored."""
        return not self.stored or any(
            getattr(self.line, name) != getattr(self.stored, name) for name in (*COLUMNS, "control_drop_mm")
        )

    @property
    def cells(self):
        wrong = {name for name, _ in self.problems}
        return [Cell(row=self, name=name, wrong=name in wrong) for name in COLUMNS]


@dataclass(kw_only=True)
class Cell:
    row: Row
    name: str
    wrong: bool

    @property
    def field(self):
        return self.row.form.fields[self.name]

    @property
    def html_name(self):
        return f"r{self.row.index}-{self.name}"

    @property
    def text(self):
        bound = self.row.form[self.name]
        return bound.value() if bound.value() is not None else ""

    @property
    def options(self):
        """(value, label, object or None, whether it is chosen), and what was typed where it is none of them."""
        offered = getattr(self.field, "offered", None)
        known = [(key, str(each), each) for key, each in offered.by_key.items()] if offered else []
        known = known or [(str(value), label, None) for value, label in getattr(self.field, "options", ())]
        if not known:
            return []
        text = str(getattr(self.text, "pk", self.text))
        chosen = text if text in {key for key, _, _ in known} else self._meant(text)
        other = [] if not text or chosen is not None else [(text, f"“{text[:40]}”", None, True)]
        return [*((key, label, each, key == chosen) for key, label, each in known), *other]

    def _meant(self, text):
        """The value that a word was read as, or None."""
        if not text or not self.row.form.is_bound or self.name in self.row.form.errors:
            return None
        read = self.row.form.cleaned_data.get(self.name)
        return None if read is None else str(getattr(read, "pk", read))
