"""Which column of a file means what: by its head, by what is remembered of the customer, or as somebody chose."""

import re
import unicodedata
from dataclasses import dataclass

from orders.importing.heads import HEADS
from orders.importing.limits import HEAD_WITHIN
from orders.importing.tables import Sheet, letter

LENGTHS = ("width", "drop", "vane_width", "control_drop", "installation_height", "recess_depth")
UNIT_WORDS = {
    "mm": ("mm", "millimetre", "millimeter", "millimetres", "millimeters"),
    "cm": ("cm", "centimetre", "centimeter", "centimetres", "centimeters"),
    "m": ("m", "metre", "meter", "metres", "meters"),
    "in": ("in", "inch", "inches", "zoll", "pouces", "pulgadas", "pollici", '"'),
}
_UNIT_OF = {word: unit for unit, words in UNIT_WORDS.items() for word in words}
_JOINED = str.maketrans({"œ": "oe", "æ": "ae", "ø": "o", "ł": "l"})
_AROUND_A_UNIT = "()[]{}.,:;/ "
_LAST_WORD = re.compile(
    r"^(?P<rest>.*?)(?:[\s,/(\[]+(?:in\s+)?(?P<unit>[a-z]+)|[\s,/(\[]*(?P<sign>\"))[\s)\].]*$",
    re.IGNORECASE | re.DOTALL,
)


def plain(text):
    """`text` for comparing: no case, accents, spaces or signs."""
    spread = unicodedata.normalize("NFKD", text.casefold().translate(_JOINED))
    return "".join(char for char in spread if char.isalnum())


def _by_word():
    found = {}
    for field, (title, others) in HEADS.items():
        for word in (title, *others.split(",")):
            other = found.setdefault(plain(word), field)
            if other != field:
                raise ValueError(f"{word!r} heads both {other} and {field}")
    return found


FIELD_OF = _by_word()


@dataclass(frozen=True)
class Column:
    """One column, counted from 0. `field` is "" where it is left out, `unit` "" where each value brings its own."""

    number: int
    head: str
    field: str = ""
    unit: str = ""

    @property
    def letter(self):
        return letter(self.number)

    @property
    def key(self):
        """What the customer's choice is remembered under."""
        return plain(self.head) or f"#{self.letter}"


def unit_of(text):
    """The unit that `text` is, "" for any other text."""
    return _UNIT_OF.get(text.casefold().strip(_AROUND_A_UNIT), "")


def read_head(text):
    """(field, unit) of a head such as `Width`, `BREITE (cm)` or `Drop in mm`; ("", "") where it is not known."""
    found = _LAST_WORD.match(text.strip())
    unit = unit_of(found["unit"] or found["sign"]) if found else ""
    field = FIELD_OF.get(plain(found["rest"]), "") if unit else ""
    if field:
        return field, unit if field in LENGTHS else ""
    return FIELD_OF.get(plain(text), ""), ""


def recognised(row, known=frozenset()):
    """How many cells of `row` are heads of columns: different ones, `known` those that are remembered."""
    fields = {plain(cell) if plain(cell) in known else read_head(cell)[0] for cell in row if cell}
    return len(fields - {""})


def head_row(sheet: Sheet, known=frozenset()):
    """The number, from 1, of the row with the heads: the first with most that are known; 0 where none has two."""
    counts = [recognised(row, known) for row in sheet.rows[:HEAD_WITHIN]]
    most = max(counts, default=0)
    return counts.index(most) + 1 if most >= 2 else 0


def columns_of(sheet: Sheet, *, head, remembered=None):
    """The columns of `sheet` whose heads stand in row `head` (0: none): as remembered, else by their own words."""
    remembered = remembered or {}
    heads = sheet.rows[head - 1] if head else []
    units = sheet.rows[head] if has_unit_row(sheet, head) else []
    found = []
    for number in range(sheet.width):
        words = heads[number] if number < len(heads) else ""
        field, unit = read_head(words)
        below = units[number] if number < len(units) else ""
        column = Column(number, words, field, unit or unit_of(below))
        kept = remembered.get(column.key)
        found.append(Column(number, words, kept["field"], unit_of(below) or kept["unit"]) if kept else column)
    return [each if each.field in LENGTHS else Column(each.number, each.head, each.field) for each in found]


def has_unit_row(sheet: Sheet, head):
    """Whether the row under the head gives units alone."""
    below = [cell for cell in sheet.rows[head] if cell] if 0 < head < len(sheet.rows) else []
    return bool(below) and all(unit_of(cell) for cell in below)


def taken_twice(columns):
    """The fields that more than one column is taken as, with those columns."""
    by_field = {}
    for column in columns:
        by_field.setdefault(column.field, []).append(column)
    return {field: found for field, found in by_field.items() if field and len(found) > 1}
