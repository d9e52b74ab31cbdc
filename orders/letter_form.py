"""The form that a letter is written in: whom it goes to, its subject and its text."""

import re

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from orders import once
from orders.models import Letter

MOST_ADDRESSES = 5
BETWEEN = re.compile(r"[\s,;]+")


class LetterForm(forms.Form):
    """`mark` and `form_id` come back from the page: which version was seen, and which press of the button this is."""

    to = forms.CharField(
        label="To",
        max_length=600,
        widget=forms.TextInput(attrs={"inputmode": "email", "autocomplete": "off"}),
        help_text=f"Several addresses, {MOST_ADDRESSES} at most, with commas between; each gets a letter of its own.",
        error_messages={"required": "Type the address that it goes to."},
    )
    subject = forms.CharField(max_length=150, error_messages={"required": "Type the subject."})
    text = forms.CharField(
        max_length=5000,
        widget=forms.Textarea(attrs={"rows": 12}),
        error_messages={"required": "Type what the letter says."},
    )
    form_id = forms.UUIDField(widget=forms.HiddenInput, initial=once.new_key)
    mark = forms.CharField(max_length=8, widget=forms.HiddenInput)

    def seen_anew(self, mark):
        """The same form with all that was typed, for the version of the paper that `mark` stands for."""
        self.data = {**self.data.dict(), "mark": mark}
        return self

    def clean_to(self):
        """The addresses, each once, in the order typed."""
        found = {}
        for typed in filter(None, BETWEEN.split(self.cleaned_data["to"])):
            try:
                validate_email(typed)
                Letter._meta.get_field("to").run_validators(typed)
            except ValidationError:
                raise forms.ValidationError(
                    f"“{typed[:80]}” is no e-mail address. Type addresses alone, such as name@firm.example, with "
                    "commas between."
                ) from None
            found.setdefault(typed.lower(), typed)
        if not found:
            raise forms.ValidationError("Type the address that it goes to.")
        if len(found) > MOST_ADDRESSES:
            raise forms.ValidationError(
                f"These are {len(found)} addresses; {MOST_ADDRESSES} at most go at once. Send the others afterwards."
            )
        return list(found.values())

    def clean_subject(self):
        subject = self.cleaned_data["subject"]
        if not subject.isprintable():
            raise forms.ValidationError("The subject has a line break or a control character. Write it in one line.")
        return subject

    def clean_text(self):
        """With plain line ends; other control characters have no place in a letter."""
        text = self.cleaned_data["text"].replace("\r\n", "\n").replace("\r", "\n")
        if not text.replace("\n", "").replace("\t", "").isprintable():
            raise forms.ValidationError("The text has a control character. Type it again instead of pasting it.")
        return text
