"""What a draft revision would change, before anybody publishes it."""

from django.shortcuts import get_object_or_404, redirect, render

from orders.models import SystemRevision
from orders.roles import ADMINISTRATOR, MANAGER, SALES, role_required
from production.difference import report


@role_required(SALES, MANAGER, ADMINISTRATOR)
def difference(request, system, revision):
    found = get_object_or_404(SystemRevision.objects.in_full(), system__code=system, number=revision)
    if not found.is_draft:
        # What is in force or was is settled; its own page says so.
        return redirect(found)
    may_publish = request.user.holds(MANAGER, ADMINISTRATOR)
    return render(request, "difference.html", {**report(revision=found), "may_publish": may_publish})
