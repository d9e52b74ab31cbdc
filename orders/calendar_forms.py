"""The forms of the working calendar: they read what was typed and say what to type instead."""

import datetime as dt

from django import forms

from orders import calendar
from orders.calendar import said
from orders.models import WorkingWeek
from orders.models.calendar import WEEKDAYS

LONGEST_CLOSURE_DAYS = 366
MONTHS_FROM, MONTHS_UNTIL = 2000, 2100
"""The years whose months can be looked at."""


def day_field(missing, **options):
    """A day picked or typed; `missing` says what to do where there is none."""
    errors = {"required": missing, "invalid": "That is not a day. Type it as year-month-day, such as 2026-03-18."}
    widget = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
    return forms.DateField(widget=widget, error_messages=errors, **options)


def reason_field(example):
    return forms.CharField(max_length=80, error_messages={"required": f"Say why, such as {example}."})


class ClosureForm(forms.Form):
    first_day = day_field("Choose the first day that is closed.", label="Closed from")
    last_day = day_field("", label="Until", required=False, help_text="Left empty: that day alone.")
    reason = reason_field("Stocktaking")

    def clean(self):
        given = super().clean()
        first_day = given.get("first_day")
        if first_day and "last_day" not in self.errors:
            given["last_day"] = last_day = given.get("last_day") or first_day
            days = (last_day - first_day).days + 1
            if days < 1:
                self.add_error("last_day", f"{said(last_day)} comes before {said(first_day)}. Choose a later day.")
            elif days > LONGEST_CLOSURE_DAYS:
                at_most = f"Close {LONGEST_CLOSURE_DAYS} at most at once."
                self.add_error("last_day", f"From {said(first_day)} to then are {days} days. {at_most}")
        return given


class AddedDayForm(forms.Form):
    day = day_field("Choose the day that is worked.", label="Worked on")
    reason = reason_field("Saturday shift")

    def clean_day(self):
        day = self.cleaned_data["day"]
        if calendar.read().is_working(day):
            raise forms.ValidationError(f"{said(day)} is worked already.")
        return day


class WorkingWeekForm(forms.ModelForm):
    """The usual week. Whoever chooses another country chooses its part once more."""

    weekdays = forms.TypedMultipleChoiceField(
        label="Days worked",
        choices=list(enumerate(WEEKDAYS)),
        coerce=int,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick at least one day of the week."},
    )
    country = forms.ChoiceField(label="Public holidays of", required=False)
    subdivision = forms.CharField(label="Part of the country", required=False, widget=forms.Select)
    days_in_hand = forms.IntegerField(
        label="Working days in hand",
        min_value=0,
        max_value=20,
        help_text="So many working days lie between the day on which the plan has an order packed and its promise.",
    )

    class Meta:
        model = WorkingWeek
        fields = ["weekdays", "opens_at", "closes_at", "country", "subdivision", "days_in_hand"]
        widgets = {name: forms.TimeInput(format="%H:%M", attrs={"type": "time"}) for name in ("opens_at", "closes_at")}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["country"].choices = [("", "None: they are worked"), *calendar.countries()]
        parts = calendar.subdivisions(self.instance.country)
        self.fields["subdivision"].widget.choices = [("", "The whole country"), *parts]
        self.before = self.instance.country

    @property
    def part_is_open(self):
        """Whether the country is another one now, whose parts were not on offer."""
        country = self.cleaned_data["country"]
        return country != self.before and bool(calendar.subdivisions(country))

    def clean(self):
        given = super().clean()
        opens_at, closes_at = given.get("opens_at"), given.get("closes_at")
        if opens_at and closes_at and closes_at <= opens_at:
            self.add_error("closes_at", f"{closes_at:%H:%M} is not after {opens_at:%H:%M}, when the shift begins.")
        if given.get("subdivision") not in dict(calendar.subdivisions(given.get("country", ""))):
            given["subdivision"] = ""
        return given


def month_of(text, *, today):
    """The first day of the month in `text`, written 2026-03; of the month of `today` where it is none."""
    try:
        found = dt.datetime.strptime(text, "%Y-%m").date()
    except ValueError:
        return today.replace(day=1)
    return found if MONTHS_FROM <= found.year < MONTHS_UNTIL else today.replace(day=1)
