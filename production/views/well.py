"""Whether all is well with the server, for the owner, in words."""

from django.shortcuts import render
from django.utils import timezone

from orders.roles import ADMINISTRATOR, MANAGER, role_required
from production import machine, well


@role_required(MANAGER, ADMINISTRATOR)
def well_page(request):
    at = timezone.now()
    context = {
        "wrong": well.wrong(at=at),
        "notes": list(well.notes(secure=request.is_secure())),
        "at": at,
        "started_at": machine.STARTED_AT,
        "disk": machine.disk(),
        "database_mb": round(machine.database_bytes() / 1e6, 1),
    }
    return render(request, "well.html", context)
