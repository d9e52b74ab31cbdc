"""One hardware system: its constants in force and its revisions; making, importing and retiring one."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from orders import catalogue
from orders.catalogue_forms import ImportForm, SystemForm
from orders.models import HardwareSystem, OrderLine
from orders.roles import role_required
from orders.sheet import sheet
from orders.views.catalogue import EDIT, LOOK, overview


def find_system(code):
    return get_object_or_404(HardwareSystem.objects.with_revisions(), code=code)


@role_required(*LOOK)
def system(request, system):
    return system_page(request, find_system(system))


def system_page(request, found, *, problems=(), status=200):
    lines = OrderLine.objects.counted_by_system().get(found.pk, 0)
    context = overview(found, lines=lines) | {"problems": problems, "may_edit": request.user.holds(*EDIT)}
    if context["in_force"]:
        constants = context["in_force"].as_system()
        context |= {"parts": sheet(system=constants), "source": constants.source}
    return render(request, "system.html", context, status=status)


@role_required(*EDIT)
def system_new(request):
    form = SystemForm(request.POST or None)
    if form.is_valid():
        given = form.cleaned_data
        try:
            made = catalogue.add_system(
                code=given["code"],
                name=given["name"],
                constants=form.constants(),
                by=request.user,
                at=timezone.now(),
            )
        except catalogue.Refused as refused:
            form.add_error("code", refused.problems)
        else:
            messages.success(request, f"{made} has its first draft. Put your own constants in, then publish it.")
            return redirect("revision-edit", made.code, 1)
    return render(request, "system_form.html", {"form": form}, status=422 if form.is_bound else 200)


@role_required(*EDIT)
def system_import(request):
    form = ImportForm(request.POST or None, request.FILES or None)
    if form.is_valid():
        try:
            draft = take_in(form, by=request.user)
        except catalogue.Refused as refused:
            form.add_error(None, refused.problems)
        else:
            messages.success(
                request, f"Read into a draft, revision {draft.number}. Nothing is in force until you publish."
            )
            return redirect(draft)
    return render(request, "system_import.html", {"form": form}, status=422 if form.is_bound else 200)


def take_in(form, *, by):
    """The file of a valid `form` as a draft, of a new system where its code is not here yet."""
    read, at = form.system, timezone.now()
    found = HardwareSystem.objects.filter(code=read.code).first()
    if found:
        return catalogue.import_draft(system=found, constants=read, by=by, at=at)
    name = form.cleaned_data["name"] or read.code
    made = catalogue.add_system(code=read.code, name=name, constants=read, by=by, at=at)
    return made.revisions.get()


@role_required(*EDIT)
def system_retire(request, system):
    found = find_system(system)
    if request.method == "POST":
        try:
            catalogue.retire(system=found, by=request.user, at=timezone.now())
        except catalogue.Refused as refused:
            return system_page(request, found, problems=refused.problems, status=409)
        messages.success(request, f"{found} is retired: nothing can be released with it until a revision is published.")
        return redirect("system", found.code)
    lines = OrderLine.objects.counted_by_system().get(found.pk, 0)
    return render(request, "system_retire.html", overview(found, lines=lines))


@role_required(*EDIT)
@require_POST
def draft_new(request, system):
    found = find_system(system)
    try:
        draft = catalogue.new_draft(system=found, by=request.user, at=timezone.now())
    except catalogue.Refused as refused:
        return system_page(request, found, problems=refused.problems, status=409)
    messages.success(
        request, f"Revision {draft.number} is a draft, a copy of the newest. Nothing changes until you publish."
    )
    return redirect("revision-edit", found.code, draft.number)
