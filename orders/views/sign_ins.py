"""One's own password and sessions, the password once more, and who is signed in now."""

from django.contrib import messages
from django.contrib.auth import logout, update_session_auth_hash
from django.db import transaction
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from orders import audit, first_password, second_step, sessions
from orders.again import password_again
from orders.models import Person
from orders.roles import ADMINISTRATOR, MANAGER, ROLE_NAMES, role_required
from orders.sign_in_form import FirstPasswordForm, OwnPasswordForm, PasswordAgainForm


@role_required(*ROLE_NAMES)
@sensitive_post_parameters()
def own_sign_in(request):
    """Where one is signed in, and a new password, which ends every other session."""
    form = OwnPasswordForm(request.POST or None, request=request)
    if form.is_valid():
        take_own_password(request, form)
        messages.success(request, "You have a new password, and are signed out everywhere but here.")
        return redirect("own-sign-in")
    mine = sessions.signed_in(at=timezone.now(), person=request.user)
    step = second_step.of(request.user)
    context = {"form": form, "sessions": mine, "this": request.session.session_key, "step": step}
    return render(request, "own_sign_in.html", context, status=422 if form.is_bound else 200)


@role_required(*ROLE_NAMES)
@sensitive_post_parameters()
def own_first_password(request):
    """One's own password in place of the one that somebody else set, before anything else opens."""
    if not request.user.first_password_until:
        return redirect("own-sign-in")
    if refused := first_password.refusal(request.user):
        logout(request)
        messages.error(request, refused)
        return redirect("sign-in")
    form = FirstPasswordForm(request.user, request.POST or None)
    if form.is_valid():
        take_own_password(request, form)
        messages.success(request, "The password is yours now. Nobody else knows it.")
        return redirect("start")
    return render(request, "own_first_password.html", {"form": form}, status=422 if form.is_bound else 200)


def take_own_password(request, form):
    with transaction.atomic():
        form.save()
        update_session_auth_hash(request, request.user)
        first_password.choose(request.user, session_key=request.session.session_key)


@role_required(*ROLE_NAMES)
@require_POST
@password_again(back="own-sign-in")
def own_others_end(request):
    """End one's own sessions everywhere else."""
    ended = sessions.end(person=request.user, but=request.session.session_key)
    audit.did("session-ended", of=request.user)
    messages.success(request, f"Ended elsewhere: {ended}.")
    return redirect("own-sign-in")


@role_required(*ROLE_NAMES)
@sensitive_post_parameters()
def confirm(request):
    """Ask for the password once more, then go on to the page that wanted it."""
    wanted = request.POST.get("next") or request.GET.get("next", "")
    form = PasswordAgainForm(request.POST or None, request=request)
    if form.is_valid():
        sessions.confirm(request.session)
        audit.did("confirmed", of=request.user)
        ours = url_has_allowed_host_and_scheme(wanted, allowed_hosts={request.get_host()})
        return redirect(wanted if ours and wanted.startswith("/") else "start")
    return render(request, "confirm.html", {"form": form, "next": wanted}, status=422 if form.is_bound else 200)


@role_required(MANAGER, ADMINISTRATOR)
def signed_in(request):
    """Who is signed in at this moment, from where and since when."""
    return render(request, "signed_in.html", {"sessions": sessions.signed_in(at=timezone.now())})


@role_required(MANAGER, ADMINISTRATOR)
@require_POST
@password_again(back="signed-in")
def signed_in_end(request, pk):
    """End every session of one person; in one's own case, those elsewhere."""
    person = get_object_or_404(Person, pk=pk)
    ended = sessions.end(person=person, but=request.session.session_key)
    audit.did("session-ended", of=person)
    messages.success(request, f"{person} is signed out: {ended} session{'' if ended == 1 else 's'} ended.")
    return redirect("signed-in")
