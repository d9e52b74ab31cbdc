"""The workshop's addresses, and some that break, are slow or tell of themselves."""

import asyncio
import logging
import time

from django.contrib.auth.decorators import login_not_required
from django.http import HttpResponse
from django.urls import include, path

from config import logs
from orders.models import Customer

log = logging.getLogger("breaking")
handler500 = "config.errors.server_error"


@login_not_required
def breaks(request):
    raise KeyError("Ida Marlow, 12 Harbour Lane")


@login_not_required
def is_slow(request):
    list(Customer.objects.all())
    time.sleep(0.03)
    return HttpResponse("slow")


@login_not_required
def is_gone(request):
    time.sleep(0.03)
    return HttpResponse("no database", status=503)


@login_not_required
async def says_its_number(request):
    await asyncio.sleep(0.01)
    log.warning("looked")
    return HttpResponse(logs.answering.get().number)


urlpatterns = [
    path("breaks/", breaks, name="breaks"),
    path("slow/", is_slow, name="slow"),
    path("gone/", is_gone, name="gone"),
    path("number/", says_its_number, name="number"),
    path("", include("config.urls")),
]
