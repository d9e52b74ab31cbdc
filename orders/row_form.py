"""The form of one row of the grid: text, lengths with their unit, and choices by any of the words that mean them."""

from copy import deepcopy

from django import forms

from calc import spec
from orders.forms import LineForm, check_choices
from orders.importing.columns import plain
from orders.importing.words import VALUE_OF
from orders.length_field import LengthField
from orders.models.choices import choices

WIDTHS = {plain(text): width for width in spec.VANE_WIDTHS_MM for text in (str(width), f"{width} mm")}

LISTS = {
    "size_basis": spec.SIZE_BASES,
    "hand": spec.HANDS,
    "draw": spec.DRAWS,
    "operation": spec.OPERATIONS,
    "loop_control": spec.LOOP_CONTROLS,
    "chain": spec.CHAINS,
    "fixing": spec.FIXINGS,
    "bottom": spec.BOTTOMS,
}


class WordField(forms.Field):
    """A choice by its key or by any word for it. `words` gives the value of each, as `plain` writes it."""

    def __init__(self, *, options, words, **kwargs):
        self.options, self.words = options, words
        super().__init__(**kwargs)

    def to_python(self, value):
        text = str(value or "").strip()
        if not text:
            return None
        found = self.words.get(plain(text))
        if found is None:
            accepted = ", ".join(label for _, label in self.options)
            raise forms.ValidationError(f"{self.label}: “{text[:40]}” is none of {accepted}. Choose one.")
        return found


class Offered:
    """Rows of the catalogue to choose from, by key and by the words for each; read once for a whole grid."""

    def __init__(self, found, words_of):
        self.by_key = {str(each.pk): each for each in found}
        self.by_word = {}
        for each in found:
            for word in {plain(word) for word in words_of(each)}:
                self.by_word.setdefault(word, []).append(each)


def offered_fabrics(found):
    return Offered(found, lambda fabric: (fabric.code, f"{fabric.name} {fabric.colour}", str(fabric)))


def offered_systems(found):
    return Offered(found, lambda system: (system.code, system.name))


class PickField(forms.Field):
    """One of what is `offered`, by its key or by a word for it; a word may mean several, which is refused."""

    offered = None

    def to_python(self, value):
        text = str(value or "").strip()
        if not text:
            return None
        by_key, by_word = self.offered.by_key, self.offered.by_word
        meant = [by_key[text]] if text in by_key else by_word.get(plain(text), [])
        if len(meant) != 1:
            why = "could be " + " or ".join(map(str, meant)) if meant else "is not on offer"
            raise forms.ValidationError(f"{self.label}: “{text[:40]}” {why}. Choose one from the list.")
        return meant[0]


def _word(name, label, *, required=True):
    values = LISTS[name]
    said = LineForm.base_fields[name].error_messages
    return WordField(label=label, options=choices(values), words=VALUE_OF[name], required=required, error_messages=said)


def _as_in_the_line_form(name, label):
    field = deepcopy(LineForm.base_fields[name])
    field.label = label
    return field


class RowForm(forms.Form):
    """One row, whose fabric and system are among what is `Offered`. What else a line has is left as it is."""

    room = forms.CharField(label="Room", max_length=60, required=False)
    quantity = _as_in_the_line_form("quantity", "Blinds")
    size_basis = _word("size_basis", "Basis")
    width_mm = _as_in_the_line_form("width_mm", "Width")
    drop_mm = _as_in_the_line_form("drop_mm", "Drop")
    hand = _word("hand", "Hand")
    draw = _word("draw", "Draw")
    vane_width_mm = WordField(
        label="Vanes",
        options=[(width, f"{width} mm") for width in spec.VANE_WIDTHS_MM],
        words=WIDTHS,
        error_messages={"required": "Choose the vane width."},
    )
    fabric = PickField(label="Fabric", error_messages={"required": "Choose the fabric."})
    operation = _word("operation", "Operation")
    loop_control = _word("loop_control", "Loop", required=False)
    chain = _word("chain", "Chain", required=False)
    fixing = _word("fixing", "Fixing", required=False)
    bottom = _word("bottom", "Bottom", required=False)
    system = PickField(label="System", error_messages={"required": "Choose the hardware system."})

    def __init__(self, *args, fabrics, systems, **kwargs):
        super().__init__(*args, use_required_attribute=False, **kwargs)
        self.fields["fabric"].offered, self.fields["system"].offered = fabrics, systems

    def clean(self):
        given = super().clean()
        check_choices(self, given)
        return given

    def readings(self):
        """(label, what it was read as) of each length that is not kept as it was typed."""
        lengths = [(name, field) for name, field in self.fields.items() if isinstance(field, LengthField)]
        read = [
            (field.label, field.reading_of(self[name].value())) for name, field in lengths if name not in self.errors
        ]
        return [(label, str(reading)) for label, reading in read if reading and reading.converted]


def words_of_columns():
    """The words of each column's choices, for the browser to read what is pasted: {column: {word: value}}."""
    return {name: field.words for name, field in RowForm.base_fields.items() if isinstance(field, WordField)}
