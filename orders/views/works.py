"""What goes on outside any request: how far it is, the way to leave it, and what it made."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from orders import work
from orders.models import Work, WorkResult
from orders.roles import MANAGER, ROLE_NAMES, role_required

FOLLOWED = "work"
"""In the session of whoever asked for work that may still be open."""
SHOWN = 50


def follow(request):
    """Show whoever asked that their work goes on, on each page until it has ended."""
    request.session[FOLLOWED] = True


def followed(request):
    """The person's open work; no query for whoever asked for none."""
    session = getattr(request, "session", {})
    if not session.get(FOLLOWED):
        return []
    found = list(Work.objects.open().of(request.user))
    if not found:
        del session[FOLLOWED]
    return found


def on_the_way(request, begun):
    """On to the page that shows how it goes."""
    follow(request)
    return redirect(begun)


@role_required(*ROLE_NAMES)
@require_safe
def own_works(request):
    """What this person asked for within a week."""
    return render(request, "works.html", {"works": Work.objects.of(request.user)[:SHOWN]})


@role_required(*ROLE_NAMES)
@require_safe
def one_work(request, pk):
    found = _work(request, pk)
    page = "_work.html" if request.htmx else "work.html"
    return render(
        request, page, {"work": found, "made": WorkResult.objects.filter(work=found).defer("content").first()}
    )


@role_required(*ROLE_NAMES)
@require_POST
def work_cancel(request, pk):
    found = _work(request, pk)
    work.cancel(work=found, by=request.user)
    found.refresh_from_db()
    if found.state != Work.CANCELLED and not found.is_open:
        messages.info(request, f"{found} had ended already.")
    return redirect(found)


@role_required(*ROLE_NAMES)
@require_safe
def work_result(request, pk):
    """The file that it made."""
    made = get_object_or_404(WorkResult, work=_work(request, pk))
    return HttpResponse(
        bytes(made.content),
        content_type=made.content_type,
        headers={"Content-Disposition": f'inline; filename="{made.name}"'},
    )


def _work(request, pk):
    """Shown to whoever asked for it and to a manager. Raises PermissionDenied."""
    found = get_object_or_404(Work.objects.select_related("by", "order", "customer", "cancelled_by"), pk=pk)
    if found.by_id != request.user.pk and not request.user.holds(MANAGER):
        raise PermissionDenied(f"{found} was asked for by {found.by}. Ask them, or a manager.")
    return found
