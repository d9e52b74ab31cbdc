"""The catalogue's forms: constants as they are typed, a system's file, a new system, and fabrics."""

from django import forms

from calc import book, system_file
from calc.system import DEMO_38, System
from orders.models import Fabric, HardwareSystem, SystemRevision

LARGEST_BYTES = 4 * system_file.LARGEST_CHARACTERS
SOURCE_ERRORS = {"required": "Say where the values come from, such as: measured on our own hardware."}


class ConstantField(forms.CharField):
    """One constant: `book.typed` reads it and says what is wrong with it."""

    def __init__(self, constant):
        self.constant = constant
        label = constant.words
        if constant.vane_width_mm:
            label = f"{constant.words}, {constant.vane_width_mm} mm vanes"
        super().__init__(label=label, required=False, widget=self._widget(label), max_length=200)

    def _widget(self, label):
        if self.constant.kind == book.CHOICE:
            return forms.Select(choices=[(each, each) for each in self.constant.choices])
        kind = "lengths" if self.constant.kind == book.LENGTHS else "constant"
        attributes = {"class": kind, "autocomplete": "off"}
        if self.constant.kind == book.NUMBER:
            attributes["inputmode"] = "decimal"
        if self.constant.vane_width_mm:
            attributes["aria-label"] = label
        return forms.TextInput(attrs=attributes)

    def clean(self, value):
        try:
            return book.typed(self.constant, super().clean(value))
        except book.Unreadable as trouble:
            raise forms.ValidationError(str(trouble), code="unreadable") from None


class RevisionForm(forms.Form):
    """The constants of a draft. What can't be read stays as it was typed."""

    source = forms.CharField(
        label="Where these values come from", max_length=system_file.LONGEST_TEXT, error_messages=SOURCE_ERRORS
    )
    seen = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args, system: System, **kwargs):
        self.system = system
        super().__init__(*args, **kwargs)
        self.initial |= {"source": system.source}
        for constant in book.constants():
            self.fields[self.name_of(constant)] = ConstantField(constant)
            self.initial[self.name_of(constant)] = book.shown(book.value_of(system, constant.key))

    @staticmethod
    def name_of(constant):
        return constant.key.replace(".", "-")

    def constants(self) -> System:
        """What was typed, as a system; after `is_valid`."""
        values = {each.key: self.cleaned_data[self.name_of(each)] for each in book.constants()}
        return book.with_values(self.system, {**values, "source": self.cleaned_data["source"]})


class SystemForm(forms.Form):
    """A new system: its name, the code that lines and files carry, and whose constants its first draft starts from."""

    name = forms.CharField(max_length=80, error_messages={"required": "Type the name that sales will read."})
    code = forms.CharField(
        max_length=40,
        help_text="Small letters, digits and hyphens, such as bay-45. It stays for good.",
        error_messages={"required": "Type a short code, such as bay-45."},
    )
    start_from = forms.ChoiceField(label="Start from the constants of")

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        systems = [(each.code, f"{each.name} ({each.code})") for each in HardwareSystem.objects.by_name()]
        self.fields["start_from"].choices = [*systems, ("", "the demo system: invented values, to be overwritten")]
        self.fields["start_from"].required = False

    def clean_code(self):
        code = self.cleaned_data["code"]
        if not system_file.CODE.fullmatch(code):
            raise forms.ValidationError(
                f"“{code}” is no code. Type small letters, digits and hyphens only, such as bay-45."
            )
        return code

    def constants(self) -> System:
        """What the first draft starts with; after `is_valid`."""
        start = HardwareSystem.objects.filter(code=self.cleaned_data["start_from"]).first()
        return SystemRevision.objects.newest_of(start).as_system() if start else DEMO_38


class ImportForm(forms.Form):
    """A system's file, chosen or pasted. A file that can't be read is put into the text field, to be mended there."""

    file = forms.FileField(label="File", required=False, widget=forms.FileInput(attrs={"accept": ".toml"}))
    text = forms.CharField(
        label="Or its text",
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 12, "spellcheck": "false", "class": "source-text"}),
    )
    name = forms.CharField(
        label="Name, if the system is new here",
        max_length=80,
        required=False,
        help_text="Empty: its code. A system that is here already keeps its name.",
    )

    def clean(self):
        given = super().clean()
        text = self._text(given.get("file"), given.get("text") or "")
        if text is not None:
            try:
                self.system = system_file.read(text.replace("\r\n", "\n"))
            except system_file.BadFile as bad:
                self.add_error("text", bad.problems)
        return given

    def _text(self, file, text):
        if file is None:
            if not text.strip():
                self.add_error("file", "Choose the file of a system, or paste its text.")
                return None
            return text
        if file.size > LARGEST_BYTES:
            self.add_error(
                "file",
                f"{file.name} has {file.size} bytes; a system has about 6000 and may have {LARGEST_BYTES}. "
                "Choose the file that was exported.",
            )
            return None
        try:
            decoded = file.read().decode("utf-8-sig")
        except UnicodeDecodeError as error:
            self.add_error(
                "file",
                f"{file.name} is not UTF-8 text: byte {error.start + 1} is none. Save it as UTF-8, or export it again.",
            )
            return None
        self.data = self.data.copy()
        self.data["text"] = decoded
        return decoded


class FabricForm(forms.ModelForm):
    """A fabric. The roll is slit to the vane width, so the one width is both."""

    class Meta:
        model = Fabric
        fields = ["name", "colour", "code", "vane_width_mm", "weight_g_per_m2", "stiffness"]
        labels = {"weight_g_per_m2": "Weight", "vane_width_mm": "Vane width, which is the roll's"}
        help_texts = {
            "code": "Letters, digits and hyphens; no two fabrics share one.",
            "weight_g_per_m2": "It goes into the mass that the rail carries.",
        }
        widgets = {
            "vane_width_mm": forms.RadioSelect,
            "stiffness": forms.RadioSelect,
            "weight_g_per_m2": forms.TextInput(
                attrs={"inputmode": "numeric", "class": "length", "autocomplete": "off"}
            ),
        }
        error_messages = {
            "name": {"required": "Type the fabric's name."},
            "colour": {"required": "Type its colour."},
            "code": {"required": "Type a code, such as linden-chalk-89."},
            "weight_g_per_m2": {
                "required": "Type the weight in g/m².",
                "invalid": "That is not a weight. Type digits only, such as 240.",
            },
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        vane_width = self.fields["vane_width_mm"]
        vane_width.choices = [choice for choice in vane_width.choices if choice[0] != ""]
        vane_width.error_messages["required"] = "Choose the vane width that the roll is slit to."

    def clean_weight_g_per_m2(self):
        weight = self.cleaned_data["weight_g_per_m2"]
        if not 1 <= weight <= 2000:
            raise forms.ValidationError(f"{weight} g/m² is no blind fabric. Type a weight from 1 to 2000.")
        return weight
