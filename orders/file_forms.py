"""The forms of a customer's file: choosing it, and saying how it is read."""

import datetime as dt

from django import forms

from calc.spec import VANE_WIDTHS_MM
from orders.calendar import said
from orders.importing.columns import LENGTHS, UNIT_WORDS
from orders.importing.heads import TITLES
from orders.importing.words import OTHER_WORDS, TITLE_OF
from orders.models import Fabric, HardwareSystem, Order

LISTED = ("size_basis", "hand", "draw", "operation", "loop_control", "chain", "fixing", "bottom")
NOT_SAID = {"fixing": "Top fix", "bottom": "Bottom chain"}


class FileForm(forms.Form):
    file = forms.FileField(
        label="The customer's file",
        help_text="A spreadsheet (.xlsx, .xlsm, .ods, .xls) or separated text (.csv, .txt): 10,000 rows, 5 MB at most.",
        widget=forms.FileInput(attrs={"accept": ".xlsx,.xlsm,.ods,.xls,.csv,.tsv,.txt"}),
        max_length=255,
        allow_empty_file=True,
        error_messages={"required": "Choose the file that the customer sent."},
    )


def one_of(pairs, *, empty, **options):
    return forms.ChoiceField(choices=[("", empty), *pairs], required=False, **options)


class ReadingForm(forms.Form):
    """How a file is read: sheet, row of the heads, each column, what stands in where a row is silent, rows left out."""

    sheet = forms.TypedChoiceField(coerce=int, label="Sheet")
    head = forms.IntegerField(label="Row with the heads", min_value=0, max_value=9999, help_text="0: there is none.")
    left_out = forms.CharField(
        label="Rows to leave out", max_length=200, required=False, help_text="Totals and notes, such as 12, 15-17."
    )
    due_on = forms.DateField(
        label="Promised day",
        help_text="Where no row wants a day of its own.",
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        error_messages={
            "required": "Choose the promised day.",
            "invalid": "That is not a day. Type it as year-month-day, such as 2026-03-18.",
        },
    )
    again = forms.BooleanField(label="It is meant to be taken in again", required=False)

    def __init__(self, *args, layout, today, **kwargs):
        self.layout, self.today = layout, today
        super().__init__(*args, **kwargs)
        self.fields["sheet"].choices = [
            (number, sheet.name or "the text file") for number, sheet in enumerate(layout.tables.sheets)
        ]
        for column in layout.columns:
            name = f"Column {column.letter}"
            self.fields[f"column_{column.number}"] = one_of(TITLES.items(), empty="Left out", label=name)
            self.fields[f"unit_{column.number}"] = one_of(
                [(unit, unit) for unit in UNIT_WORDS], empty="mm, or as written", label=f"{name}: unit"
            )
        for name, field in self._usual_fields().items():
            self.fields[f"usual_{name}"] = field

    def _usual_fields(self):
        """What may stand in where a row says nothing. The order's reference too, which is no part of a line."""
        fields = {
            name: one_of(
                [(value, TITLE_OF[value]) for value in OTHER_WORDS[name]],
                empty=NOT_SAID.get(name, "Nothing"),
                label=TITLES[name],
            )
            for name in LISTED
        }
        fields["vane_width"] = one_of(
            [(str(width), f"{width} mm") for width in VANE_WIDTHS_MM], empty="The fabric's", label=TITLES["vane_width"]
        )
        fabrics = [(fabric.code, str(fabric)) for fabric in Fabric.objects.offered()]
        fields["fabric"] = one_of(fabrics, empty="Nothing", label=TITLES["fabric"])
        systems = [(system.code, system.name) for system in HardwareSystem.objects.by_name()]
        fields["system"] = one_of(systems, empty="The first in the list", label=TITLES["system"])
        most = Order._meta.get_field("reference").max_length
        fields["reference"] = forms.CharField(label=TITLES["reference"], required=False, max_length=most)
        return fields

    def clean_due_on(self):
        day = self.cleaned_data["due_on"]
        if day < self.today:
            raise forms.ValidationError(f"{said(day)} has gone. Promise today or a later day.", code="past")
        return day

    def choices(self):
        """What is chosen, as a file keeps it. Another sheet or row of heads has other columns, to be found anew."""
        given, layout = self.cleaned_data, self.layout
        usual = {name.removeprefix("usual_"): value for name, value in given.items() if name.startswith("usual_")}
        chosen = {
            "sheet": given["sheet"],
            "head": given["head"],
            "left_out": given["left_out"],
            "usual": {name: value for name, value in usual.items() if value},
            "due_on": given["due_on"].isoformat(),
        }
        if (given["sheet"], given["head"]) == (layout.number, layout.head):
            chosen["columns"] = [self._column(column.number) for column in layout.columns]
        return chosen

    def _column(self, number):
        field = self.cleaned_data[f"column_{number}"]
        return [field, self.cleaned_data[f"unit_{number}"] if field in LENGTHS else ""]

    @property
    def columns(self):
        """(column, its first values, the field that says what it is, the field of its unit) for the page."""
        return [
            (column, values, self[f"column_{column.number}"], self[f"unit_{column.number}"])
            for column, values in self.layout.samples
        ]

    @property
    def usual(self):
        return [field for field in self if field.name.startswith("usual_")]


def shown_choices(layout, choices, *, due_on: dt.date):
    """What the page of a file shows as chosen, whether somebody chose it or it was found out; `due_on` if none was."""
    return {
        "sheet": layout.number,
        "head": layout.head,
        "left_out": choices.get("left_out", ""),
        "usual": choices.get("usual", {}),
        "due_on": choices.get("due_on") or due_on.isoformat(),
        "columns": [[column.field, column.unit] for column in layout.columns],
    }


def initial_of(shown):
    """The form's values for `shown`."""
    columns = {f"column_{number}": field for number, (field, _) in enumerate(shown["columns"])}
    units = {f"unit_{number}": unit for number, (_, unit) in enumerate(shown["columns"])}
    usual = {f"usual_{name}": value for name, value in shown["usual"].items()}
    plain = {name: shown[name] for name in ("sheet", "head", "left_out", "due_on")}
    return {**plain, **columns, **units, **usual}
