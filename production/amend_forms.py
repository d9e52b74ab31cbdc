"""What is typed to ask for a change once blinds are at work."""

from django import forms

from orders.models import Order


class BecauseForm(forms.Form):
    """Why a change is asked for; the workshop decides by it."""

    because = forms.CharField(
        label="Why, and who said so",
        max_length=200,
        widget=forms.Textarea(attrs={"rows": 2, "maxlength": 200}),
        help_text="The workshop reads this before it decides, such as: Mrs Marlow measured again and rang at ten.",
        error_messages={"required": "Say why: what the customer wants, and who said so."},
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        if not self.is_bound:
            self.fields["because"].widget.attrs["autofocus"] = True


class HeadChangeForm(forms.ModelForm):
    """The promised day and the note of an order at work, as they are wanted. `today` is the workshop's day."""

    class Meta:
        model = Order
        fields = ["due_on", "note"]
        widgets = {
            "due_on": forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
            "note": forms.Textarea(attrs={"rows": 3}),
        }
        error_messages = {"due_on": {"required": "Choose the promised day."}}

    def __init__(self, *args, today, **kwargs):
        self.today = today
        super().__init__(*args, **kwargs)

    def clean_due_on(self):
        due_on = self.cleaned_data["due_on"]
        if due_on < self.today and "due_on" in self.changed_data:
            raise forms.ValidationError(f"{due_on:%A} {due_on.day} {due_on:%B %Y} has gone. Choose today or later.")
        return due_on
