"""One blind as the office and anybody at work may look it up: drawing, figures, stations, history."""

from django.http import Http404
from django.shortcuts import redirect, render
from django.utils import timezone

from orders.roles import CHECKER, MAKER, MANAGER, SALES, role_required
from production import bench, codes, route, where
from production.figures import grouped
from production.history import changes_of, faults_of, history_of
from production.models import Amendment, Blind, FaultKind, StationEvent


@role_required(SALES, MAKER, CHECKER, MANAGER)
def blind(request, code):
    try:
        found = find_blind(code)
    except Http404 as missing:
        return render(request, "404.html", {"said": missing}, status=404)
    if found.code != code:
        return redirect(found)
    stages = {stage.station: stage for stage in found.stages.all()}
    now = bench.figures_now(blind=found)
    events = list(StationEvent.objects.of_blind(found).with_person())
    told = history_of(blind=found, events=events, faults=FaultKind.objects.words())
    context = {
        "blind": found,
        "may_see_order": request.user.holds(SALES, MANAGER),
        "where": where.of_blind(found, stages.values(), at=timezone.now()),
        "stages": [stages[place.key] for place in route.STATIONS],
        "components": now,
        "measured_chain_mm": None if now is found.components else now["chain_drop_mm"],
        "groups": grouped(now, system=found.revision.as_system()),
        "findings": now["findings"],
        "history": told[::-1],
        "faults": faults_of(told),
        "change_asked": Amendment.objects.open_for(found),
        "changes": changes_of(events),
    }
    return render(request, "blind.html", context)


def find_blind(text):
    """The blind that a scanned code or a typed number names; raises Http404 with what to do instead."""
    try:
        named = codes.read_code(text)
    except codes.CodeError as wrong:
        raise Http404(str(wrong)) from wrong
    found = Blind.objects.with_order().with_stages().numbered(order_number=named.order_number, serial=named.serial)
    if found is None:
        number = codes.human_number(order_number=named.order_number, serial=named.serial)
        raise Http404(f"There is no blind {number}. Check the number on the ticket, or look for its order.")
    return found
