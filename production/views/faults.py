"""The workshop's list of what goes wrong: the manager adds to it, puts it in order, rewords, takes out of use."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from orders.roles import MANAGER, role_required
from production import faults
from production.models import FaultKind, StationEvent


@role_required(MANAGER)
def fault_kinds(request):
    """The list; a POST adds the words that were typed to it."""
    if request.method != "POST":
        return list_page(request)
    try:
        made = faults.add(words=request.POST.get("words", ""))
    except faults.Refused as refused:
        return list_page(request, problem=refused)
    messages.success(request, f"“{made}” is added at the end of the list.")
    return redirect("faults")


@role_required(MANAGER)
def fault_kind(request, key):
    """One kind, to be reworded."""
    kind = get_object_or_404(FaultKind, key=key)
    if request.method != "POST":
        return render(request, "fault.html", {"kind": kind, "typed": kind.words})
    typed = request.POST.get("words", "")
    try:
        faults.reword(kind=kind, words=typed)
    except faults.Refused as refused:
        kind.refresh_from_db()
        return render(request, "fault.html", {"kind": kind, "typed": typed, "problem": refused}, status=422)
    messages.success(request, f"It is called “{kind}” now, wherever it was recorded.")
    return redirect("faults")


@role_required(MANAGER)
@require_POST
def fault_move(request, key):
    kind = get_object_or_404(FaultKind.objects.on_offer(), key=key)
    faults.move(kind=kind, places=-1 if request.POST.get("to") == "up" else 1)
    return redirect("faults")


@role_required(MANAGER)
@require_POST
def fault_use(request, key):
    """Take a kind out of use, or into use again (`in_use` is no or yes)."""
    kind = get_object_or_404(FaultKind, key=key)
    try:
        if request.POST.get("in_use") == "yes":
            faults.take_into_use(kind=kind)
            messages.success(request, f"“{kind}” is offered again, at the end of the list.")
        else:
            faults.take_out_of_use(kind=kind, at=timezone.now())
            messages.success(request, f"“{kind}” is offered no more. What was recorded keeps it.")
    except faults.Refused as refused:
        return list_page(request, problem=refused)
    return redirect("faults")


def list_page(request, *, problem=None):
    kinds = FaultKind.objects.with_counts(StationEvent.objects.faults_counted())
    context = {
        "in_use": [each for each in kinds if not each["kind"].retired_at],
        "out_of_use": [each for each in kinds if each["kind"].retired_at],
        "typed": request.POST.get("words", ""),
        "problem": problem,
    }
    return render(request, "faults.html", context, status=422 if problem else 200)
