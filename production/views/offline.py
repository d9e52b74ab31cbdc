"""What a tablet without network rests on: its service worker, and the page that it shows in the place of any other."""

from django.contrib.auth.decorators import login_not_required
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from orders.languages import translated

AWAY_PARTS = (
    "css/base.css",
    "css/drawing.css",
    "css/station.css",
    "img/mark.svg",
    "js/away.js",
    "js/kept.js",
    "js/typed.js",
)


@login_not_required
@never_cache
@require_GET
def service_worker(request):
    """The script that a browser runs beside the pages, for all of the site; it changes with the version."""
    context = {"away_url": reverse("away"), "away_parts": [static(part) for part in AWAY_PARTS]}
    return render(request, "sw.js", context, content_type="text/javascript; charset=utf-8")


@translated
@login_not_required
@require_GET
def away(request):
    """What stands in the place of a page that needs the network; it says nothing of anybody."""
    return render(request, "away.html", {"languages": ()})
