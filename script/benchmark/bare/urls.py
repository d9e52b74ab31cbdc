"""The floor's views, both for whoever is signed in."""

from django.contrib.auth.decorators import login_required
from django.db import transaction
from django.db.models import F
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_POST

from .models import Event, Row, Thing


@login_required
def page(request, name):
    """One question, one template."""
    head, *rows = Row.objects.filter(page=name).order_by("position").values("shape", "shown")
    return render(request, f"{name}.html", {"head": head["shown"], "rows": rows})


@login_required
@require_POST
def finish(request, pk):
    """One row more and one row changed, in one transaction."""
    with transaction.atomic():
        Event.objects.create(event_id=request.POST["event_id"], thing_id=pk, kind="finish")
        Thing.objects.filter(pk=pk).update(version=F("version") + 1, state="done")
    return HttpResponse()


urlpatterns = [path("finish/<int:pk>/", finish), path("<str:name>/", page)]
