"""One row of a file as a line of an order, or why it can't be one."""

import datetime as dt
from dataclasses import dataclass, field

from django.core.exceptions import ValidationError

from calc.spec import VANE_WIDTHS_MM
from orders.calendar import said
from orders.forms import STATIONS, LineForm
from orders.importing.catalogue import Catalogue, NotFound
from orders.importing.columns import plain
from orders.importing.days import DayError, read_day
from orders.importing.problems import Problem
from orders.importing.words import OTHER_WORDS, accepted, value_of
from orders.lines import slit_otherwise
from orders.models import Order, OrderLine
from orders.typed_length import LengthError, read_length

NOTHING = {"", "-", "--", "–", "—", "n/a", "na", "none", "nil", "keine", "kein", "ninguno", "aucun", "nessuno", "geen"}
"""Written where a blind has no such thing."""
MAY_BE_NOTHING = {"loop_control", "chain", "control_drop", "installation_height", "recess_depth", "concerns"}
NOMINAL_WITHIN_MM = 1
"""3 1/2 in is 88.9 mm, and means vanes of 89."""
SIZES = ("drop", "installation_height", "recess_depth", "width")
# Columns that are read together, since many rows say the same in all of them.
OF_AN_ORDER = ("order", "reference", "due_on", "market")
COUNTED = ("quantity", "system")
OF_THE_MAKE = ("size_basis", "draw", "hand", "operation", "fixing", "bottom", "loop_control", "chain")
OF_THE_CLOTH = ("vane_width", "fabric", "colour")


@dataclass(kw_only=True)
class ReadRow:
    """What row `number` says, by field: its line, None while it has problems, and what it says of its order."""

    number: int
    line: OrderLine | None = None
    said: dict = field(default_factory=dict)
    order: dict = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    figured: object = None

    @property
    def key(self):
        """Rows with the same key make one order."""
        return (self.order.get("order", ""), self.order.get("reference", ""))


class _Wrong(ValueError):
    """What stands in one field can't be taken."""


@dataclass(kw_only=True)
class RowReader:
    """Reads rows by their `columns`; `usual` stands in where one says nothing. A day before `today` is refused."""

    columns: list
    usual: dict
    catalogue: Catalogue
    today: dt.date

    def __post_init__(self):
        self.by_field = {column.field: column for column in self.columns if column.field}
        self._may_be_nothing = MAY_BE_NOTHING & self.by_field.keys()
        # What was read already: most rows of a file say the same in most columns.
        self._known = {}

    def read(self, number, cells) -> ReadRow:
        said = {name: cells[column.number] for name, column in self.by_field.items() if column.number < len(cells)}
        row = ReadRow(number=number)
        if not said.get("width") and not said.get("drop"):
            message = "It gives no width and no drop. Leave it out if it is a total or a note; else give both."
            row.problems.append(Problem(row=number, message=message))
            return row
        for name in self._may_be_nothing:
            if said.get(name, "").casefold() in NOTHING:
                said[name] = ""
        row.said = said
        self._row, self._said = row, said
        row.order = self._once(self._order_facts, OF_AN_ORDER)
        values = self._values()
        if not row.problems:
            row.line = _line(values)
        return row

    def _once(self, read, names):
        """What `read` makes of the texts of `names`, worked out once for all rows that say the same.

        Where it finds a problem it is not kept, so that each row says its own.
        """
        key = (names, *map(self._said.get, names))
        if key in self._known:
            return self._known[key]
        problems = len(self._row.problems)
        found = read()
        if len(self._row.problems) == problems:
            self._known[key] = found
        return found

    def _text(self, name):
        """What the row says of `name`, else what is usual."""
        return self._said.get(name) or self.usual.get(name, "")

    def _try(self, name, read, *, beside=(), required=""):
        """What `read` makes of the text of `name`, and of the values `beside` it; None and a problem where it can't."""
        text = self._text(name)
        if not text:
            if required:
                self._problem(name, required)
            return None
        key = (name, text, bool(self._said.get(name)), beside)
        try:
            if key not in self._known:
                self._known[key] = read(text)
            return self._known[key]
        except (_Wrong, NotFound, DayError) as wrong:
            self._problem(name, str(wrong))
        except ValidationError as wrong:
            self._problem(name, " ".join(wrong.messages))
        return None

    def _problem(self, name, message):
        column, value = self.by_field.get(name), self._said.get(name, "")
        self._row.problems.append(Problem(row=self._row.number, column=column, name=name, value=value, message=message))

    def _order_facts(self):
        return {
            "order": self._try("order", _within(60)) or "",
            "reference": self._try("reference", _within(_longest(Order, "reference"))) or "",
            "due_on": self._try("due_on", self._day),
            "market": self._try("market", _choice("market")),
        }

    def _day(self, text):
        day = read_day(text)
        if day < self.today:
            raise _Wrong(f"{said(day)} has gone. Give a later day, or leave the column out.")
        return day

    def _values(self):
        values = {
            "room": self._try("room", _room) or "",
            **self._once(self._counted, COUNTED),
            **{f"{name}_mm": self._length(name) for name in SIZES},
            **self._once(self._make, OF_THE_MAKE),
        }
        values["control_drop_mm"] = self._control_drop(looped=values["operation"] != "wand")
        values |= self._once(self._cloth, OF_THE_CLOTH)
        values["special_instruction"] = self._try("special_instruction", _special_instruction) or ""
        values["concerns"] = self._concerns() if values["special_instruction"] else []
        return values

    def _counted(self):
        return {"quantity": self._quantity(), "system": self._system()}

    def _quantity(self):
        """One where the file counts nothing; an empty cell below a head that does is refused."""
        if "quantity" not in self.by_field:
            return 1
        return self._try("quantity", LineForm.base_fields["quantity"].clean, required="Write how many, 1 to 99.")

    def _system(self):
        if self._text("system"):
            return self._try("system", self.catalogue.system)
        if self.catalogue.usual_system is None:
            self._problem("system", "No system has a published revision. Ask a manager to publish one.")
        return self.catalogue.usual_system

    def _length(self, name):
        reader = LineForm.base_fields[f"{name}_mm"]
        missing = reader.error_messages["required"] if reader.required else ""
        return self._try(name, lambda text: reader.clean(self._with_unit(name, text)), required=missing)

    def _with_unit(self, name, text):
        """The unit of the column behind a bare number; without the apostrophe that marks a number kept as text."""
        text = text.removeprefix("'").strip()
        column = self.by_field.get(name)
        unit = column.unit if column and self._said.get(name) else ""
        return f"{text} {unit}" if unit and text[-1:].isnumeric() else text

    def _chosen(self, name):
        return self._try(name, _choice(name), required=f"It is not said. {_ways(name)}")

    def _make(self):
        """How it draws, hangs and is worked. A wand blind has no loop: a row that gives it a part of one is refused."""
        made = {name: self._chosen(name) for name in ("size_basis", "draw", "hand", "operation")}
        made["fixing"] = self._try("fixing", _choice("fixing")) or "top"
        made["bottom"] = self._try("bottom", _choice("bottom")) or "chain"
        for name in ("loop_control", "chain"):
            made[name] = (self._none_of_a_wand(name) if made["operation"] == "wand" else self._chosen(name)) or ""
        return made

    def _control_drop(self, *, looped):
        return self._length("control_drop") if looped else self._none_of_a_wand("control_drop")

    def _none_of_a_wand(self, name):
        if self._said.get(name):
            self._problem(name, "A wand blind has none. Empty the cell, or write Cord and chain as operation.")

    def _cloth(self):
        """Vane width and fabric. A fabric is slit to one width, which stands in where the row gives none."""
        width = self._try("vane_width", self._vane_width)
        wanted = self._text("vane_width")
        fabric = None
        if self._said.get("colour") and not self._said.get("fabric"):
            self._problem("fabric", "Its colour alone is given. Give the fabric's name or code too.")
        else:
            colour = self._said.get("colour", "") if self._said.get("fabric") else ""
            fabric = self._try(
                "fabric",
                lambda text: self.catalogue.fabric(text, colour=colour, vane_width_mm=width),
                beside=(colour, width),
                required="No fabric is given. Give name and colour, or the code.",
            )
        if not wanted and fabric:
            width = fabric.vane_width_mm
        elif width and fabric and fabric.vane_width_mm != width:
            self._problem("fabric", slit_otherwise(fabric, width))
        elif not wanted:
            self._problem("vane_width", f"It is not said. Write {_either(f'{each} mm' for each in VANE_WIDTHS_MM)}.")
        return {"vane_width_mm": width, "fabric": fabric}

    def _vane_width(self, text):
        way_out = f"Write {_either(f'{each} mm' for each in VANE_WIDTHS_MM)}."
        try:
            read = read_length(self._with_unit("vane_width", text))
        except LengthError as wrong:
            raise _Wrong(f"That is no vane width. {way_out}") from wrong
        for width in VANE_WIDTHS_MM:
            if abs(read.mm - width) < NOMINAL_WITHIN_MM:
                return width
        raise _Wrong(f"That is {read.mm.normalize():f} mm, and no vanes are that wide. {way_out}")

    def _concerns(self):
        return list(self._try("concerns", _stations) or (key for key, _ in STATIONS))


_NAMES = [each.attname for each in OrderLine._meta.concrete_fields]
_EMPTY = {name: getattr(OrderLine(), name) for name in _NAMES}


def _line(values):
    """An unsaved line of `values`, in half the time that it takes by their names."""
    system, fabric = values.pop("system"), values.pop("fabric")
    given = {**_EMPTY, **values, "system_id": system.pk, "fabric_id": fabric.pk}
    line = OrderLine(*map(given.__getitem__, _NAMES))
    line.system, line.fabric = system, fabric
    return line


def _longest(model, name):
    return model._meta.get_field(name).max_length


def _within(most, *, lines=False):
    """Reads a text of so many characters; on one line, unless it may have several."""

    def read(text):
        text = text if lines else " ".join(text.splitlines())
        if len(text) > most:
            raise _Wrong(f"It has {len(text)} characters, and {most} are kept. Shorten it.")
        return text

    return read


_room = _within(_longest(OrderLine, "room"))
_special_instruction = _within(_longest(OrderLine, "special_instruction"), lines=True)


def _choice(name):
    def read(text):
        found = value_of(name, text)
        if found is None:
            raise _Wrong(f"That is not known here. {_ways(name)}")
        return found

    return read


def _ways(name):
    return f"Write {_either(accepted(name))}." if name in OTHER_WORDS else ""


def _either(words):
    *others, last = words
    return f"{', '.join(others)} or {last}"


def _stations(text):
    keys = {plain(word): key for key, name in STATIONS for word in (key, name)}
    words = [word for word in text.replace(";", ",").replace("/", ",").split(",") if word.strip()]
    unknown = [word.strip() for word in words if plain(word) not in keys]
    if unknown:
        raise _Wrong(f"{', '.join(unknown)}: no such station. Write some of {', '.join(name for _, name in STATIONS)}.")
    return [key for key, _ in STATIONS if key in {keys[plain(word)] for word in words}]
