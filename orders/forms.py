"""The office's forms: they read what was typed and say what to type instead; `intake` does the writing."""

from django import forms

from calc import spec
from orders.calendar import said
from orders.length_field import LengthField
from orders.lines import slit_otherwise
from orders.models import Customer, Fabric, HardwareSystem, Order, OrderLine
from orders.models.choices import choices

# The stations, under the names that the workshop's route gives them; a test holds the two together.
STATIONS = (
    ("railing", "Railing"),
    ("vanes", "Vanes"),
    ("stringing", "Stringing"),
    ("checking", "Checking"),
    ("packing", "Packing"),
)

NEW_CUSTOMER = "new"


class CustomerForm(forms.ModelForm):
    class Meta:
        model = Customer
        fields = ["name", "contact", "phone", "email", "address", "trade", "market"]
        widgets = {"address": forms.Textarea(attrs={"rows": 3})}
        error_messages = {"name": {"required": "Type the customer's name."}}


class OrderForm(forms.ModelForm):
    """The head of an order. `today` is the workshop's day; a promise can't be made for a day that has gone."""

    customer = forms.CharField(required=False)
    market = forms.ChoiceField(
        choices=[("", "The customer's usual market"), *choices(spec.MARKETS)],
        required=False,
        help_text="Decides the child-safety rule for every line.",
    )

    class Meta:
        model = Order
        fields = ["due_on", "rush", "market", "reference", "note"]
        widgets = {
            "due_on": forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
            "note": forms.Textarea(attrs={"rows": 3}),
        }
        labels = {"rush": "Rush: goes before others due the same day"}
        error_messages = {
            "due_on": {
                "required": "Choose the promised day.",
                "invalid": "That is not a day. Type it as year-month-day, such as 2026-03-18.",
            }
        }

    def __init__(self, *args, today, **kwargs):
        self.today = today
        super().__init__(*args, **kwargs)
        if self.instance.pk:
            self.initial["customer"] = self.instance.customer_id
            if self.instance.state == Order.CONFIRMED:
                self.fields["due_on"].disabled = self.fields["rush"].disabled = True
                self.fields["rush"].help_text = "Confirmed: take it back to draft first, since it goes before others."
                self.fields["due_on"].help_text = "Confirmed: another day is promised on the order's page, by the plan."
        else:
            # The customer's usual market stands in, unless another one is chosen.
            self.initial["market"] = ""

    @property
    def wants_new_customer(self):
        return self["customer"].value() == NEW_CUSTOMER

    def clean_customer(self):
        """The customer chosen, or None for one that is entered anew."""
        chosen = self.cleaned_data["customer"]
        if chosen == NEW_CUSTOMER:
            return None
        if not chosen:
            raise forms.ValidationError("Choose the customer: type part of the name, or enter a new one.")
        found = Customer.objects.keyed(chosen)
        if found is None:
            raise forms.ValidationError("That customer is no longer there. Find the customer again.")
        return found

    def clean_due_on(self):
        due_on = self.cleaned_data["due_on"]
        if due_on < self.today and "due_on" in self.changed_data:
            raise forms.ValidationError(f"{said(due_on)} has gone. Promise today or a later day.", code="past")
        return due_on

    def head(self, *, customer):
        """What `intake` is to write: the customer's usual market stands in where none was chosen."""
        given = {name: self.cleaned_data[name] for name in ("due_on", "rush", "market", "reference", "note")}
        return {**given, "customer": customer, "market": given["market"] or customer.market}


def one_of(values, *, words=None, **options):
    """A group of radio buttons; `words` says more of a choice than its name."""
    named = [(value, (words or {}).get(value, name)) for value, name in choices(values)]
    return forms.ChoiceField(choices=named, widget=forms.RadioSelect, **options)


def check_choices(form, given):
    """Hold the choices of a line against each other: a loop names device and chain, a wand blind has none of a loop."""
    if given.get("operation") == "cord_chain":
        for name, words in (("loop_control", "the loop control"), ("chain", "plastic or metal chain")):
            if not given.get(name) and name not in form.errors:
                form.add_error(name, forms.ValidationError(f"Choose {words}.", code="required"))
    elif given.get("operation") == "wand":
        given.update(loop_control="", chain="", control_drop_mm=None)
    fabric, width = given.get("fabric"), given.get("vane_width_mm")
    if fabric and width and fabric.vane_width_mm != width:
        form.add_error("fabric", slit_otherwise(fabric, width))


class LineForm(forms.ModelForm):
    """One line of an order, its fields in the order in which they are asked on the phone."""

    quantity = forms.IntegerField(
        min_value=1,
        max_value=99,
        initial=1,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "maxlength": 4}),
        error_messages={
            "required": "Type how many blinds, 1 to 99.",
            "invalid": "That is not a count. Type digits only, 1 to 99.",
            "min_value": "Type how many blinds, 1 to 99.",
            "max_value": "A line holds 99 blinds at most. Enter the rest on another line.",
        },
    )
    size_basis = one_of(
        spec.SIZE_BASES,
        words={"recess": "Recess: measured opening", "exact": "Exact: finished blind"},
        error_messages={"required": "Choose recess or exact: ask which of the two was measured."},
    )
    width_mm = LengthField(
        label="Width",
        least_mm=100,
        most_mm=10_000,
        help_text="Millimetres, or with its unit: 1.83 m, 183 cm, 72 1/4 in.",
        error_messages={"required": "Type the width in millimetres, such as 1830."},
    )
    drop_mm = LengthField(
        label="Drop",
        least_mm=100,
        most_mm=10_000,
        error_messages={"required": "Type the drop in millimetres, such as 1600."},
    )
    vane_width_mm = forms.TypedChoiceField(
        label="Vane width",
        choices=[(width, f"{width} mm") for width in spec.VANE_WIDTHS_MM],
        coerce=int,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose the vane width."},
    )
    fabric = forms.ModelChoiceField(
        queryset=Fabric.objects.none(), empty_label="Choose a fabric", error_messages={"required": "Choose the fabric."}
    )
    draw = one_of(
        spec.DRAWS,
        help_text="One way gathers at the controls, reverse away from them, split at both ends.",
        error_messages={"required": "Choose how the vanes draw."},
    )
    hand = one_of(
        spec.HANDS,
        help_text="The side of the controls, seen from the room.",
        error_messages={"required": "Choose the side of the controls, seen from the room."},
    )
    operation = one_of(spec.OPERATIONS, error_messages={"required": "Choose cord and chain, or wand."})
    loop_control = one_of(spec.LOOP_CONTROLS, label="Loop control", required=False)
    chain = one_of(spec.CHAINS, required=False)
    control_drop_mm = LengthField(
        label="Control drop",
        least_mm=50,
        most_mm=5000,
        required=False,
        help_text="Empty: worked out from the drop and the market's rule.",
    )
    installation_height_mm = LengthField(
        label="Installation height",
        least_mm=300,
        most_mm=10_000,
        required=False,
        help_text="Floor to the top of the blind, if it is known.",
    )
    recess_depth_mm = LengthField(
        label="Recess depth",
        least_mm=10,
        most_mm=2000,
        required=False,
        help_text="Free depth to the glass or handle, if it was measured.",
    )
    fixing = one_of(spec.FIXINGS)
    bottom = one_of(spec.BOTTOMS)
    concerns = forms.MultipleChoiceField(
        label="Stations that must acknowledge it",
        choices=STATIONS,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    class Meta:
        model = OrderLine
        fields = [
            "room",
            "quantity",
            "size_basis",
            "width_mm",
            "drop_mm",
            "vane_width_mm",
            "fabric",
            "draw",
            "hand",
            "operation",
            "loop_control",
            "chain",
            "control_drop_mm",
            "installation_height_mm",
            "recess_depth_mm",
            "fixing",
            "bottom",
            "system",
            "special_instruction",
            "concerns",
        ]
        widgets = {
            "room": forms.TextInput(attrs={"autocomplete": "off"}),
            "special_instruction": forms.Textarea(attrs={"rows": 2}),
        }

    def __init__(self, *args, begins=True, **kwargs):
        """`begins`: whether its first field is the page's."""
        super().__init__(*args, **kwargs)
        self.fabrics = list(Fabric.objects.for_line(self.instance))
        self.fields["fabric"].queryset = Fabric.objects.for_line(self.instance)
        self.fields["system"].queryset = HardwareSystem.objects.by_name()
        self.fields["system"].empty_label = None
        if begins and not self.is_bound:
            self.fields["room"].widget.attrs["autofocus"] = True
        if not self.instance.concerns:
            self.initial["concerns"] = [key for key, _ in STATIONS]

    def readings(self):
        """(field's name, label, what it was read as) of each length that is not kept as it was typed."""
        lengths = {name: field for name, field in self.fields.items() if isinstance(field, LengthField)}
        read = [
            (name, field.label, field.reading_of(self[name].value()))
            for name, field in lengths.items()
            if self.is_bound and name not in self.errors
        ]
        return [(name, label, str(reading)) for name, label, reading in read if reading and reading.converted]

    def clean(self):
        given = super().clean()
        check_choices(self, given)
        if not given.get("special_instruction"):
            given["concerns"] = []
        elif not given.get("concerns"):
            self.add_error("concerns", "Tick the stations that must acknowledge the special instruction.")
        return given
