"""The forms of people: who somebody is, what they may do, and a password that is set for somebody else."""

from django import forms
from django.contrib.auth.forms import BaseUserCreationForm, SetPasswordForm

from orders.models import Person
from orders.roles import ADMINISTRATOR, ROLES


class PersonForm(forms.ModelForm):
    """Who somebody is and what they may do. Administrators can't shut themselves out."""

    roles = forms.MultipleChoiceField(
        choices=ROLES, required=False, widget=forms.CheckboxSelectMultiple, help_text="One person may hold several."
    )

    class Meta:
        model = Person
        fields = ["username", "first_name", "last_name", "roles", "is_active"]
        labels = {"username": "Signs in as", "is_active": "May sign in"}
        help_texts = {"username": "Letters, digits and @ . + - _ only.", "is_active": ""}

    def __init__(self, *args, editor, **kwargs):
        self.editor = editor
        super().__init__(*args, **kwargs)

    def clean_is_active(self):
        if self.instance == self.editor and not self.cleaned_data["is_active"]:
            raise forms.ValidationError("You can't shut yourself out. Ask another administrator to do it.")
        return self.cleaned_data["is_active"]

    def clean_roles(self):
        if self.instance == self.editor and ADMINISTRATOR not in self.cleaned_data["roles"]:
            raise forms.ValidationError("You can't stop being administrator yourself. Ask another administrator.")
        return self.cleaned_data["roles"]


class NewPersonForm(BaseUserCreationForm):
    roles = forms.MultipleChoiceField(
        choices=ROLES, required=False, widget=forms.CheckboxSelectMultiple, help_text="One person may hold several."
    )

    class Meta:
        model = Person
        fields = ["username", "first_name", "last_name", "roles"]
        labels = PersonForm.Meta.labels
        help_texts = PersonForm.Meta.help_texts

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        say_of_another(self.fields["password1"], self.fields["password2"])


def say_of_another(new, again):
    """What stands at the two fields of a password that is set for somebody else."""
    new.label, again.label, again.help_text = "Password", "The same again", ""
    new.help_text = (
        "15 signs or more: a few words that have nothing to do with each other, with whoever it is for or with here. "
        "It is for one sign-in."
    )


class GivenPasswordForm(SetPasswordForm):
    """A new password for somebody else."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        say_of_another(self.fields["new_password1"], self.fields["new_password2"])
