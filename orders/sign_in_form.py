"""The forms that take a password: each try is counted before it is looked at, and told to the audit."""

from django import forms
from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm, SetPasswordForm
from django.utils import timezone
from django.utils.translation import gettext, gettext_lazy
from django.views.decorators.debug import sensitive_variables

from . import audit, first_password, second_step, throttle
from .asking import address_of
from .models import Person


@sensitive_variables()
def looked_at(*, name, request, is_right):
    """Whether `is_right()`, looked at only while `name` has tries left where the request comes from. Raises HeldUp."""
    address, at = address_of(request), timezone.now()
    person = Person.objects.filter(username=name).first()

    def is_known_there():
        return person is not None and audit.signed_in_lately(person=person, address=address, at=at)

    def told(why):
        # What was typed as a name may be a password: only one that somebody has is written down.
        words = f"{person or 'somebody unknown here'}: {why}"
        audit.did("not-let-in", kind="person", thing=person.pk if person else "", words=words)

    try:
        taken = throttle.take(name=name, address=address, is_known_there=is_known_there, at=at)
    except throttle.HeldUp:
        told("too many tries")
        raise
    if not is_right():
        told("wrong password")
        return False
    throttle.give_back(taken)
    return True


@sensitive_variables()
def require_code(typed, *, person):
    """Raise ValidationError unless `typed` is a code of `person`, whose password was right; tries are counted."""
    try:
        taken = throttle.take_code(person=person, at=timezone.now())
    except throttle.HeldUp as held_up:
        audit.did("wrong-code", of=person, words=f"{person}, too many wrong codes")
        raise forms.ValidationError(str(held_up)) from None
    if not second_step.is_right(person=person, typed=typed):
        audit.did("wrong-code", of=person, words=f"{person}, wrong code")
        raise forms.ValidationError(
            gettext(
                "That code is not right, or was used before. Wait for the next one, and look whether the phone's clock "
                "is right."
            )
        )
    throttle.give_back(taken)


def code_field(*, inputmode="numeric"):
    return forms.CharField(
        max_length=64,
        widget=forms.TextInput(
            attrs={
                "autocomplete": "one-time-code",
                "inputmode": inputmode,
                "autofocus": True,
                "spellcheck": "false",
                "autocapitalize": "off",
            }
        ),
        error_messages={"required": gettext_lazy("Type the code.")},
    )


class CodeForm(forms.Form):
    """The code of whoever has given the right password; with `spare` it is one of those that stand for the app."""

    def __init__(self, *args, person, spare=False, **kwargs):
        super().__init__(*args, **kwargs)
        self.person = person
        self.fields["code"] = code_field(inputmode="text" if spare else "numeric")
        self.fields["code"].label = gettext("Spare code") if spare else gettext("Code from your app")

    def clean_code(self):
        require_code(self.cleaned_data["code"], person=self.person)
        return self.cleaned_data["code"]


class SetUpForm(forms.Form):
    """The code that an app shows that has just been given its key."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["code"] = code_field()
        self.fields["code"].label = "The code that the app shows"
        del self.fields["code"].widget.attrs["autofocus"]


class SignInForm(AuthenticationForm):
    """Name and password. `refused` says why they let nobody in although they may be right, `held_up` whether too many
    were wrong."""

    refused, held_up = "", False

    def clean(self):
        name, given = self.cleaned_data.get("username"), {}
        if name is None or not self.cleaned_data.get("password"):
            return super().clean()

        def is_right():
            try:
                given.update(super(SignInForm, self).clean())
            except forms.ValidationError:
                return False
            return True

        try:
            if not looked_at(name=name, request=self.request, is_right=is_right):
                raise self.get_invalid_login_error()
        except throttle.HeldUp as held_up:
            self.refused, self.held_up = str(held_up), True
            raise forms.ValidationError(self.refused) from None
        self.refused = first_password.refusal(self.get_user())
        if self.refused:
            audit.did("not-let-in", of=self.get_user(), words=f"{self.get_user()}: first password over")
            raise forms.ValidationError(self.refused)
        return given


class PasswordAgainForm(forms.Form):
    """The password of whoever is signed in, once more, and a code where they have a second step."""

    password = forms.CharField(
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password", "autofocus": True}),
        error_messages={"required": "Type your password."},
    )

    def __init__(self, *args, request, **kwargs):
        self.request = request
        super().__init__(*args, **kwargs)
        if second_step.of(request.user):
            self.fields["code"] = code_field(inputmode="text")
            self.fields["code"].label = "Code from your app, or a spare code"
            del self.fields["code"].widget.attrs["autofocus"]

    def clean_password(self):
        password = self.cleaned_data["password"]
        require_own(password, request=self.request)
        return password

    def clean_code(self):
        if "password" in self.cleaned_data:
            require_code(self.cleaned_data["code"], person=self.request.user)
        return self.cleaned_data["code"]


def say(new, again):
    """What stands at the two fields of a new password."""
    new.label, again.label = "New password", "The same again"
    new.help_text = "15 signs or more: a few words that have nothing to do with each other, with you or with here."
    again.help_text = ""


class FirstPasswordForm(SetPasswordForm):
    """The password that somebody chooses instead of the one that was set for them."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        say(self.fields["new_password1"], self.fields["new_password2"])
        self.fields["new_password1"].widget.attrs["autofocus"] = True

    def clean_new_password1(self):
        password = self.cleaned_data["new_password1"]
        if self.user.check_password(password):
            raise forms.ValidationError("Whoever set that password knows it. Choose another one.")
        return password


class OwnPasswordForm(PasswordChangeForm):
    """The password that somebody has, and the one that they choose instead."""

    def __init__(self, *args, request, **kwargs):
        self.request = request
        super().__init__(request.user, *args, **kwargs)
        self.fields["old_password"].label = "The password until now"
        say(self.fields["new_password1"], self.fields["new_password2"])

    def clean_old_password(self):
        password = self.cleaned_data["old_password"]
        require_own(password, request=self.request)
        return password


@sensitive_variables("password")
def require_own(password, *, request):
    """Raise ValidationError unless it is the password of whoever asks."""
    user = request.user
    try:
        if looked_at(name=user.username, request=request, is_right=lambda: user.check_password(password)):
            return
    except throttle.HeldUp as held_up:
        raise forms.ValidationError(str(held_up)) from None
    raise forms.ValidationError("That is not your password. Mind capitals, and type it again.")
