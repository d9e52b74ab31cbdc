"""How one figure of a blind came about, on a page of its own or opened in place, and every figure of it on paper."""

from django.http import Http404
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from orders.languages import translated
from orders.roles import CHECKER, MAKER, MANAGER, SALES, at_the_bench, role_required
from production import bench, labels, route
from production.figures import LABELS
from production.words import _
from production.workings import BY_MEASURED_CHAIN, PARTS_OF_BAND, entry_of, figure

from .blind import find_blind
from .papers import of_blind, prints


@translated
@role_required(SALES, MAKER, CHECKER, MANAGER, bench=True)
@require_safe
@never_cache
def blind_figure(request, code, name):
    """The working of the figure called `name`; cord and chain as they follow from the chain once it was measured."""
    try:
        blind = find_blind(code)
        context = _working(blind, name)
    except Http404 as missing:
        return render(request, "404.html", {"said": missing}, status=404)
    if request.htmx:
        return render(request, "_working.html", context)
    return render(request, "working.html", {**context, "back": _back(request, blind)})


def _working(blind, name):
    components = bench.figures_now(blind=blind)
    if name not in LABELS or entry_of(components, name) is None:
        raise Http404(
            _(
                "Blind {number} has no figure called {name}. Its figures stand on its own page.",
                number=blind.number,
                name=repr(name),
            )
        )
    nominal = name in BY_MEASURED_CHAIN and components is blind.components
    system = blind.revision.as_system()
    shown = [figure(key, LABELS[key], components, system=system) for key in (name, *PARTS_OF_BAND.get(name, ()))]
    return {"blind": blind, "each": shown[0], "parts": shown[1:], "nominal": nominal}


def _back(request, blind):
    """Where this working was opened: a station's sheet, or else the blind's page."""
    place = route.STATION.get(request.GET.get("at"))
    if place is None and at_the_bench(request):
        place = route.STATION[request.tablet.station]
    if place and request.user.holds(MAKER, CHECKER, MANAGER):
        return {"url": reverse("station-blind", args=[place.key, blind.code]), "words": place.name}
    return {"url": blind.get_absolute_url(), "words": _("Blind {number}", number=blind.number)}


@prints()
def blind_working(request, code):
    """Every figure of one blind with its formula, numbers, source and tolerance, as A4."""
    return of_blind(code, print_pdf=labels.working_pdf, name="working")
