"""What every page shows: the workshop's name, the version, and the way to the pages that this person may use."""

from django.conf import settings
from django.urls import reverse
from django.utils.translation import get_language, gettext
from django.utils.translation import gettext_noop as N_

from orders import roles
from orders.views import works
from production.machine import version

# Words, URL name, and who is led there; each view guards itself as well.
PAGES = (
    (N_("Orders"), "orders", (roles.SALES, roles.MANAGER)),
    (N_("Customers"), "customers", (roles.SALES, roles.MANAGER)),
    (N_("Changes"), "changes", (roles.SALES, roles.MANAGER)),
    (N_("Stations"), "stations", (roles.MAKER, roles.CHECKER, roles.MANAGER)),
    (N_("Day sheet"), "day", (roles.SALES, roles.CHECKER, roles.MANAGER, roles.ADMINISTRATOR)),
    (N_("Plan"), "plan", (roles.SALES, roles.MANAGER)),
    (N_("Catalogue"), "catalogue", (roles.SALES, roles.MANAGER, roles.ADMINISTRATOR)),
    (N_("Safety"), "rules", roles.ROLE_NAMES),
    (N_("Set-up"), "tablets", (roles.MANAGER,)),
    (N_("Set-up"), "people", (roles.ADMINISTRATOR,)),
)
SET_UP = ("tablets", "faults", "people", "api-keys", "signed-in", "audit", "well")
BESIDE = {"plan": ("calendar",), "tablets": SET_UP, "people": SET_UP}
"""Pages that lie beside one of them, under an address of their own."""
AT_THE_BENCH = ("stations", "rules")


def workshop(request):
    return {
        "workshop_name": settings.WORKSHOP_NAME,
        "version": version(),
        "navigation": list(navigation(request)),
        "at_the_bench": roles.at_the_bench(request),
        "languages": list(other_languages(request)),
        "may_find": may_find(request),
        "own_work": works.followed(request),
    }


def may_find(request):
    """Whether the search box stands in the head of this page: on the office's pages, for those who take orders."""
    user = getattr(request, "user", None)
    is_office = not getattr(request, "is_translated", False) and not roles.at_the_bench(request)
    return bool(is_office and user and user.is_authenticated and user.holds(roles.SALES, roles.MANAGER))


def other_languages(request):
    """Code and name of each language that this page is in too."""
    if getattr(request, "is_translated", False):
        yield from ((code, name) for code, name in settings.LANGUAGES if code != get_language())


def navigation(request):
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return
    led_to = set()
    for words, name, allowed in PAGES:
        if words not in led_to and user.holds(*allowed) and (name in AT_THE_BENCH or not roles.at_the_bench(request)):
            led_to.add(words)
            url = reverse(name)
            near = tuple(reverse(each) for each in (name, *BESIDE.get(name, ())))
            yield {"words": gettext(words), "url": url, "current": request.path.startswith(near)}
