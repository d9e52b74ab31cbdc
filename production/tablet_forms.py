"""The forms with which a manager lets tablets in and gives PINs; `tablets` does the writing."""

from django import forms
from django.utils.translation import gettext_lazy

from . import tablets
from .models import STATION_CHOICES, Tablet


class EnrolForm(forms.ModelForm):
    """The tablet that the manager holds: what it is called, and where it hangs."""

    station = forms.ChoiceField(
        choices=[("", "Choose the station"), *STATION_CHOICES], error_messages={"required": "Choose the station."}
    )

    class Meta:
        model = Tablet
        fields = ["name", "station"]
        help_texts = {"name": "As people in the workshop call it, such as Railing 1. The history of blinds names it."}
        error_messages = {"name": {"required": "Type a name for this tablet."}}
        widgets = {"name": forms.TextInput(attrs={"autocomplete": "off"})}

    def validate_unique(self):
        """A name in use is refused where it is written, since a retired tablet's may be given again."""


def pin_field(label, **options):
    attributes = {"inputmode": "numeric", "autocomplete": "new-password", "maxlength": tablets.PIN_DIGITS[1]}
    return forms.CharField(
        label=label,
        widget=forms.PasswordInput(attrs=attributes),
        error_messages={"required": gettext_lazy("Type the PIN, here and once more.")},
        **options,
    )


class PinForm(forms.Form):
    """A new PIN, twice, since nobody sees it."""

    pin = pin_field(gettext_lazy("New PIN"), help_text=gettext_lazy("4 to 8 digits, no repeats and no runs."))
    again = pin_field(gettext_lazy("The same PIN again"))

    def clean_pin(self):
        if problem := tablets.pin_problem(self.cleaned_data["pin"]):
            raise forms.ValidationError(problem)
        return self.cleaned_data["pin"]

    def clean(self):
        given = super().clean()
        if "pin" in given and "again" in given and given["pin"] != given["again"]:
            self.add_error("again", gettext_lazy("The two differ. Type the PIN again in both."))
        return given
