"""The form field of a length: what was typed with or without a unit, held against what such a length can be."""

from decimal import Decimal

from django import forms

from orders.typed_length import METRIC_MM, LengthError, decimal_text, read_length

SLIPS = (*METRIC_MM, "in")
"""The units that may be meant where none is typed."""


class LengthField(forms.Field):
    """A length in millimetres to a tenth, from `least_mm` to `most_mm`: beyond them the unit is most likely wrong."""

    def __init__(self, *, least_mm, most_mm, **options):
        self.least_mm, self.most_mm = least_mm, most_mm
        attributes = {"autocomplete": "off", "autocapitalize": "off", "spellcheck": "false", "class": "length"}
        super().__init__(widget=forms.TextInput(attrs={**attributes, "maxlength": 60}), **options)

    def to_python(self, value):
        reading = self.reading_of(value)
        if reading is None:
            return None
        if not self.least_mm <= reading.mm <= self.most_mm:
            raise forms.ValidationError(self._out_of_range(reading), code="out_of_range")
        return reading.mm

    def reading_of(self, value):
        """What `value` is read as, or None where nothing is typed. Raises ValidationError where it is no length."""
        text = str(value).strip() if value is not None else ""
        if not text:
            return None
        try:
            return read_length(text)
        except LengthError as wrong:
            raise forms.ValidationError(str(wrong), code="invalid") from wrong

    def _out_of_range(self, reading):
        name, under = self.label.lower(), reading.mm < self.least_mm
        limit = f"under {self.least_mm} mm" if under else f"over {self.most_mm} mm"
        said = f"{reading}" if reading.converted else f"“{reading.typed}” is read as {decimal_text(reading.mm)} mm"
        return f"{said}, and no {name} is {limit}. {self._way_out(reading)}"

    def _way_out(self, reading):
        meant = [f"{reading.typed} {unit}" for unit in SLIPS if reading.plain and self._fits(f"{reading.typed} {unit}")]
        return f"If it is {' or '.join(meant)}, type the unit too; else measure again." if meant else "Measure again."

    def _fits(self, text):
        try:
            return self.least_mm <= read_length(text).mm <= self.most_mm
        except LengthError:
            return False

    def prepare_value(self, value):
        """A stored length without a needless nought; what was typed stays as it was typed."""
        return f"{value:f}".removesuffix(".0") if isinstance(value, Decimal) else value
