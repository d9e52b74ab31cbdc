"""People at work: how many at each station and for how long, and who is away."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from orders.roles import MANAGER, role_required
from production import crew
from production.models import Absence
from production.planning_forms import AbsenceForm, CrewForm


@role_required(MANAGER)
def people_at_work(request):
    """Everybody's usual day; sent, it sets every station's crew at once, or none where one can't be."""
    forms = [CrewForm(request.POST or None, crew=each) for each in crew.crews()]
    if request.method == "POST" and all(form.is_valid() for form in forms):
        crew.set_crews({form.crew.station: form.cleaned_data for form in forms})
        messages.success(request, "The crews are set. The plan reckons with them now.")
        return redirect("people-at-work")
    return people_page(request, crews=forms, status=422 if request.method == "POST" else 200)


@role_required(MANAGER)
@require_POST
def absence_new(request):
    form = AbsenceForm(request.POST)
    if not form.is_valid():
        return people_page(request, absence=form, status=422)
    made = crew.add_absence(**form.cleaned_data)
    messages.success(request, f"{made} until {made.last_day:%a} {made.last_day.day} {made.last_day:%b %Y}.")
    return redirect("people-at-work")


@role_required(MANAGER)
@require_POST
def absence_remove(request, pk):
    found = get_object_or_404(Absence.objects.select_related("person"), pk=pk)
    crew.remove_absence(absence=found)
    messages.success(request, f"{found.person} is no longer away from {found.first_day.day} {found.first_day:%b %Y}.")
    return redirect("people-at-work")


def people_page(request, *, crews=None, absence=None, status=200):
    context = {
        "crews": crews or [CrewForm(crew=each) for each in crew.crews()],
        "absences": Absence.objects.from_day(timezone.localdate()),
        "form": absence or AbsenceForm(),
        "wrong_crew": any(form.errors for form in crews or ()),
        "wrong_absence": absence,
    }
    return render(request, "people_at_work.html", context, status=status)
