"""Fabrics: adding, changing, offering and taking one off the list."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from orders import catalogue
from orders.catalogue_forms import FabricForm
from orders.models import Fabric, OrderLine
from orders.roles import role_required
from orders.views.catalogue import EDIT


@role_required(*EDIT)
def fabric_new(request):
    form = FabricForm(request.POST or None)
    if form.is_valid():
        made = catalogue.add_fabric(**form.cleaned_data)
        messages.success(request, f"{made} is added and offered to sales.")
        return redirect("catalogue")
    return fabric_page(request, form)


@role_required(*EDIT)
def fabric(request, pk):
    found = get_object_or_404(Fabric, pk=pk)
    form = FabricForm(request.POST or None, instance=found)
    if form.is_valid():
        try:
            changed = catalogue.change_fabric(fabric=get_object_or_404(Fabric, pk=pk), **form.cleaned_data)
        except catalogue.Refused as refused:
            form.add_error("vane_width_mm", refused.problems)
        else:
            messages.success(request, f"{changed} is changed.")
            return redirect("catalogue")
    return fabric_page(request, form, fabric=get_object_or_404(Fabric, pk=pk))


@role_required(*EDIT)
@require_POST
def fabric_offer(request, pk):
    found = get_object_or_404(Fabric, pk=pk)
    offered = request.POST.get("offered") == "yes"
    catalogue.offer_fabric(fabric=found, offered=offered)
    messages.success(request, f"{found} is {'offered again' if offered else 'no longer offered'}.")
    return redirect("fabric", pk)


@role_required(*EDIT)
def fabric_remove(request, pk):
    found = get_object_or_404(Fabric, pk=pk)
    if request.method == "POST":
        try:
            catalogue.remove_fabric(fabric=found)
        except catalogue.Refused as refused:
            form = FabricForm(instance=found)
            return fabric_page(request, form, fabric=found, problems=refused.problems, status=409)
        messages.success(request, f"{found} is taken off the list.")
        return redirect("catalogue")
    uses = OrderLine.objects.made_of(found).count()
    return render(request, "fabric_remove.html", {"fabric": found, "uses": uses})


def fabric_page(request, form, *, fabric=None, problems=(), status=None):
    context = {
        "form": form,
        "fabric": fabric,
        "uses": OrderLine.objects.made_of(fabric).count() if fabric else 0,
        "problems": [{"message": each} for each in problems],
    }
    return render(request, "fabric.html", context, status=status or (422 if form.is_bound else 200))
