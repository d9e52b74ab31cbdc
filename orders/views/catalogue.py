"""The catalogue: the hardware systems and the fabrics that blinds are made of."""

from django.shortcuts import render

from orders.models import Fabric, HardwareSystem, OrderLine, SystemRevision
from orders.roles import ADMINISTRATOR, MANAGER, SALES, role_required

LOOK = (SALES, MANAGER, ADMINISTRATOR)
EDIT = (MANAGER, ADMINISTRATOR)


@role_required(*LOOK)
def catalogue(request):
    lines, uses = OrderLine.objects.counted_by_system(), OrderLine.objects.counted_by_fabric()
    systems = [
        overview(each, lines=lines.get(each.pk, 0)) for each in HardwareSystem.objects.with_revisions().by_name()
    ]
    fabrics = [{"fabric": each, "uses": uses.get(each.pk, 0)} for each in Fabric.objects.offered_first()]
    context = {"systems": systems, "fabrics": fabrics, "may_edit": request.user.holds(*EDIT)}
    return render(request, "catalogue.html", context)


def overview(system, *, lines=0):
    """A system with its revision in force, its draft, and how many lines follow it; its revisions are fetched."""
    revisions = list(system.revisions.all())
    in_force = next((each for each in revisions if each.state == SystemRevision.PUBLISHED), None)
    draft = next((each for each in revisions if each.is_draft), None)
    return {"system": system, "revisions": revisions, "in_force": in_force, "draft": draft, "lines": lines}
