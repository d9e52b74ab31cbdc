"""One's own second step at sign-in, and that of somebody who has lost it."""

from django.contrib import messages
from django.db import transaction
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from orders import second_step, sessions
from orders.again import password_again
from orders.models import Person
from orders.roles import ADMINISTRATOR, ROLE_NAMES, role_required
from orders.sign_in_form import SetUpForm

KEY = "second step's key"
"""In the session of whoever is about to set one up: what the picture shows."""


@role_required(*ROLE_NAMES)
@password_again()
@sensitive_post_parameters()
def own_second_step(request):
    """The key for one's app, as a picture and as text, until a code shows that the app has it."""
    key = request.session.setdefault(KEY, second_step.new_key())
    form = SetUpForm(request.POST or None)
    if form.is_valid():
        with transaction.atomic():
            codes = second_step.set_up(person=request.user, key=key, typed=form.cleaned_data["code"])
            if codes:
                sessions.end(person=request.user, but=request.session.session_key)
        if codes:
            del request.session[KEY]
            request.session[sessions.SECOND] = True
            return spare_codes(request, codes, is_new=True)
        form.add_error("code", "That code doesn't fit this key. Wait for the next one, and look at the phone's clock.")
    context = {
        "form": form,
        "step": second_step.of(request.user),
        "spare_left": second_step.spare_left(request.user),
        "wanted": second_step.is_wanted(request.user),
        "key": " ".join(key[place : place + 4] for place in range(0, len(key), 4)),
        "picture": second_step.picture(key, person=request.user),
    }
    return render(request, "own_second_step.html", context, status=422 if form.is_bound else 200)


@role_required(*ROLE_NAMES)
@require_POST
@password_again(back="own-second-step")
def own_spare_codes(request):
    """Other spare codes, in place of those before."""
    if not second_step.of(request.user):
        return redirect("own-second-step")
    return spare_codes(request, second_step.new_spare_codes(request.user))


def spare_codes(request, codes, *, is_new=False):
    """The spare codes, on the answer to the form and nowhere else."""
    return render(request, "own_spare_codes.html", {"codes": codes, "is_new": is_new})


@role_required(*ROLE_NAMES)
@require_POST
@password_again(back="own-second-step")
def own_second_step_remove(request):
    """The password alone is enough again, where no role of one's own asks for more."""
    if second_step.is_wanted(request.user):
        messages.error(request, "Your roles ask for a second step. Set it up anew instead of taking it away.")
        return redirect("own-second-step")
    if second_step.remove(request.user):
        request.session.pop(sessions.SECOND, None)
        messages.success(request, "Your password alone lets you in again.")
    return redirect("own-sign-in")


@role_required(ADMINISTRATOR)
@require_POST
@password_again(back="people")
def person_second_step_remove(request, pk):
    """For somebody who has lost phone and spare codes: they are out everywhere, and the password alone lets them in."""
    person = get_object_or_404(Person, pk=pk)
    with transaction.atomic():
        if second_step.remove(person):
            sessions.end(person=person, but=request.session.session_key)
            messages.success(request, f"{person} signs in with the password alone now, until they set it up again.")
    return redirect("person", pk)
