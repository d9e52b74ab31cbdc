"""The forms of people at work: they read what was typed and say what to type instead."""

from django import forms

from orders.calendar_forms import day_field
from orders.models import Person
from production import tablets

from . import route

MOST_PEOPLE, MOST_MINUTES = 99, 1440


class CrewForm(forms.Form):
    """One station's crew; its fields stand in one row of a table, so each names its station."""

    def __init__(self, *args, crew, **kwargs):
        super().__init__(*args, prefix=crew.station, **kwargs)
        self.crew = crew
        self.fields["people"] = self._whole("People", crew.people, MOST_PEOPLE)
        self.fields["minutes"] = self._whole("Minutes a day", crew.minutes, MOST_MINUTES)

    def _whole(self, label, value, most):
        name = f"{label}, {self.crew.place.name.lower()}"
        wrong = f"Type a whole number from 0 to {most}."
        return forms.IntegerField(
            label=name,
            initial=value,
            min_value=0,
            max_value=most,
            widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "maxlength": 4}),
            error_messages=dict.fromkeys(("required", "invalid", "min_value", "max_value"), wrong),
        )


class AbsenceForm(forms.Form):
    person = forms.ModelChoiceField(
        queryset=None, empty_label="Choose who", error_messages={"required": "Choose who is away."}
    )
    station = forms.ChoiceField(
        label="Missed at",
        choices=[("", "Choose the station"), *((place.key, place.english) for place in route.STATIONS)],
        error_messages={"required": "Choose the station that goes without."},
    )
    first_day = day_field("Choose the first day away.", label="Away from")
    last_day = day_field("", label="Until", required=False, help_text="Left empty: that day alone.")

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        at_work = [person.pk for person in tablets.people()]
        self.fields["person"].queryset = Person.objects.filter(pk__in=at_work).order_by("first_name", "username")

    def clean(self):
        given = super().clean()
        first_day = given.get("first_day")
        if first_day and "last_day" not in self.errors:
            given["last_day"] = given.get("last_day") or first_day
            if given["last_day"] < first_day:
                self.add_error("last_day", "That is before the first day away. Choose a later day.")
        return given
