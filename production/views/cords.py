"""The table of cord cuts that a tablet keeps for when it has no network."""

from django.http import Http404, JsonResponse
from django.views.decorators.http import require_GET

from production import cords
from production.models import Blind
from production.words import _

from .stations import at_a_station


@at_a_station
@require_GET
def blind_cords(request, code):
    """The cord of one blind by the chain as it may be measured: production.cords.cords_of as JSON."""
    blind = Blind.objects.with_order().coded(code)
    if blind is None:
        raise Http404(_("There is no blind with the code {code}.", code=repr(code)))
    return JsonResponse(cords.cords_of(blind=blind))
