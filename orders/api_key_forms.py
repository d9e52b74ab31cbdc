"""The form that makes a key for another program."""

from django import forms

from orders.models import ApiKey, Customer
from orders.models.api_keys import SCOPES

EVERY, NAMED = "every", "named"


class ApiKeyForm(forms.Form):
    """What a key is called, what it may do, and whose orders it may know of."""

    name = forms.CharField(
        label="Which program asks with it",
        max_length=ApiKey._meta.get_field("name").max_length,
        help_text="Such as 'web shop' or 'accounts'.",
        error_messages={"required": "Type which program asks with the key."},
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    scopes = forms.MultipleChoiceField(
        label="What it may do",
        choices=[(scope, f"{words.capitalize()} ({scope})") for scope, words in SCOPES],
        widget=forms.CheckboxSelectMultiple,
        help_text="Any key may read the catalogue and ask for figures.",
        error_messages={"required": "Tick what the key may do."},
    )
    whose = forms.ChoiceField(
        label="Whose orders",
        choices=[(NAMED, "Only those of the customers chosen below"), (EVERY, "Those of every customer")],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose whose orders the key may know of."},
    )
    customers = forms.ModelMultipleChoiceField(
        queryset=Customer.objects.none(),
        required=False,
        widget=forms.SelectMultiple(attrs={"size": 8}),
        help_text="Hold Ctrl, or ⌘, to choose several.",
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["customers"].queryset = Customer.objects.by_name()

    def clean(self):
        given = super().clean()
        if given.get("whose") == NAMED and not given.get("customers") and "customers" not in self.errors:
            self.add_error("customers", "Choose a customer, or let the key know of every customer's orders.")
        return given

    def key(self):
        """What `api_keys.make` is to write."""
        given = {name: self.cleaned_data[name] for name in ("name", "scopes", "customers")}
        return {**given, "every_customer": self.cleaned_data["whose"] == EVERY}
