"""The people who sign in: who they are, what they may do, and their passwords. For the administrator alone."""

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.db import transaction
from django.shortcuts import get_object_or_404, redirect, render

from orders import audit, first_password, second_step, sessions
from orders.again import password_again
from orders.models import Person
from orders.people_forms import GivenPasswordForm, NewPersonForm, PersonForm
from orders.roles import ADMINISTRATOR, role_required

ONE_SIGN_IN = "one sign-in within three days, at which they choose their own"


@role_required(ADMINISTRATOR)
def people(request):
    # Those who may sign in come first.
    return render(request, "people.html", {"people": Person.objects.order_by("-is_active", "username")})


@role_required(ADMINISTRATOR)
@password_again()
def person_new(request):
    form = NewPersonForm(request.POST or None)
    if form.is_valid():
        with transaction.atomic():
            made = form.save()
            audit.did("person-added", of=made, after=values(made))
            first_password.give(made)
        messages.success(
            request, f"{made} may sign in as {made.username}. Hand over the password yourself: it is for {ONE_SIGN_IN}."
        )
        return redirect("people")
    return person_page(request, "person_form.html", form)


@role_required(ADMINISTRATOR)
@password_again()
def person(request, pk):
    found = get_object_or_404(Person, pk=pk)
    was = values(found)
    form = PersonForm(request.POST or None, instance=found, editor=request.user)
    if form.is_valid():
        changed = save_person(form, was=was, request=request)
        messages.success(request, f"{changed} is changed." if changed.is_active else f"{changed} may not sign in now.")
        return redirect("people")
    step = second_step.of(found)
    return person_page(request, "person_form.html", form, person=get_object_or_404(Person, pk=pk), step=step)


@role_required(ADMINISTRATOR)
@password_again()
def person_password(request, pk):
    found = get_object_or_404(Person, pk=pk)
    form = GivenPasswordForm(found, request.POST or None)
    if form.is_valid():
        with transaction.atomic():
            form.save()
            if found == request.user:
                update_session_auth_hash(request, found)
                first_password.choose(found, session_key=request.session.session_key)
            else:
                first_password.give(found)
        messages.success(request, f"{found} has a new password, and is signed out wherever the old one was used.")
        if found != request.user:
            messages.success(request, f"Hand it over yourself: it is for {ONE_SIGN_IN}.")
        return redirect("people")
    return person_page(request, "person_password.html", form, person=found)


def save_person(form, *, was, request):
    """Save what was typed of somebody; whose rights changed is signed out, save whoever does it."""
    with transaction.atomic():
        changed = form.save()
        names = audit.changed("person-changed", of=changed, before=was, after=values(changed))
        if names & {"roles", "is_active"}:
            sessions.end(person=changed, but=request.session.session_key)
    return changed


def values(person):
    """What the audit tells of a person."""
    return audit.values(person, "username", "first_name", "last_name", "roles", "is_active")


def person_page(request, template, form, *, person=None, step=None):
    context = {"form": form, "person": person, "step": step}
    return render(request, template, context, status=422 if form.is_bound else 200)
