"""One revision of a hardware system: its page, its constants while it is a draft, publishing, discarding, its file."""

import json

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from calc import system_file
from calc.cautions import cautions
from calc.system import System
from orders import catalogue
from orders.catalogue_forms import RevisionForm
from orders.models import SystemRevision
from orders.roles import role_required
from orders.sheet import changes, sheet
from orders.views.catalogue import EDIT, LOOK


def find_revision(code, number):
    return get_object_or_404(SystemRevision.objects.in_full(), system__code=code, number=number)


def beside(found):
    """The constants that `found` is held against: a draft's against those in force; or None."""
    current = SystemRevision.objects.current(system=found.system) if found.is_draft else None
    return current.as_system() if current else None


@role_required(*LOOK)
def revision(request, system, revision):
    return revision_page(request, find_revision(system, revision))


def revision_page(request, found, *, problems=(), status=200):
    constants, in_force = found.as_system(), beside(found)
    context = {
        "revision": found,
        "source": constants.source,
        "parts": sheet(system=constants, in_force=in_force),
        "changes": changes(system=constants, in_force=in_force),
        "in_force": in_force,
        "broken": catalogue.problems_of(found) if found.is_draft else [],
        "problems": problems,
        "may_edit": request.user.holds(*EDIT),
    }
    return render(request, "revision.html", context, status=status)


@role_required(*EDIT)
def revision_edit(request, system, revision):
    found = find_revision(system, revision)
    if not found.is_draft:
        return revision_page(request, found, problems=[only_a_draft(found, "changed")], status=409)
    constants = found.as_system()
    form = RevisionForm(request.POST or None, system=constants, initial={"seen": json.dumps(found.constants)})
    problems = []
    if form.is_valid():
        try:
            catalogue.change_draft(revision=found, seen=seen(form, constants), constants=form.constants())
        except catalogue.Refused as refused:
            problems = [{"message": each} for each in refused.problems]
        else:
            messages.success(request, f"Revision {found.number} is saved as a draft.")
            return redirect(found)
    context = {
        "revision": found,
        "form": form,
        "problems": problems,
        "parts": sheet(system=constants, in_force=beside(found), form=form),
    }
    return render(request, "revision_form.html", context, status=422 if form.is_bound else 200)


def seen(form, constants):
    """The constants that were on the page when it was opened; those of now where it doesn't say."""
    try:
        return System.from_dict(json.loads(form.cleaned_data["seen"]))
    except (TypeError, ValueError):
        return constants


@role_required(*EDIT)
def revision_publish(request, system, revision):
    """What publishing would do, and doing it."""
    found = find_revision(system, revision)
    if not found.is_draft:
        return revision_page(request, found, problems=[only_a_draft(found, "published")], status=409)
    if request.method == "POST":
        try:
            catalogue.publish(revision=found, by=request.user, at=timezone.now())
        except catalogue.Refused as refused:
            return publish_page(request, found, broken=refused.problems, status=422)
        messages.success(request, f"{found.system} revision {found.number} is in force from now on.")
        return redirect("system", found.system.code)
    return publish_page(request, found, broken=catalogue.problems_of(found))


def publish_page(request, found, *, broken, status=200):
    constants, in_force = found.as_system(), beside(found)
    context = {
        "revision": found,
        "broken": broken,
        "cautions": [] if broken else cautions(constants),
        "changes": changes(system=constants, in_force=in_force),
        "in_force": in_force,
    }
    return render(request, "revision_publish.html", context, status=status)


@role_required(*EDIT)
def revision_discard(request, system, revision):
    found = find_revision(system, revision)
    if not found.is_draft:
        return revision_page(request, found, problems=[only_a_draft(found, "discarded")], status=409)
    if request.method == "POST":
        alone = found.system.revisions.count() == 1
        try:
            catalogue.discard_draft(revision=found)
        except catalogue.Refused as refused:
            return revision_page(request, found, problems=refused.problems, status=409)
        messages.success(request, f"The draft of {found.system}, revision {found.number}, is discarded.")
        return redirect("catalogue") if alone else redirect("system", found.system.code)
    return render(request, "revision_discard.html", {"revision": found})


def only_a_draft(found, done):
    return (
        f"Revision {found.number} is {found.get_state_display().lower()}; only a draft can be {done}. "
        "Make a new draft of the system and go on with that."
    )


@role_required(*LOOK)
def revision_file(request, system, revision):
    """The revision as one TOML file."""
    found = find_revision(system, revision)
    answer = HttpResponse(system_file.written(found.as_system()), content_type="application/toml; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{found.system.code}-revision-{found.number}.toml"'
    return answer
