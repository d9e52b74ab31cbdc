"""What every page shows: the workshop's name, the version, and the way to the pages that this person may use."""

import re
from functools import cache

from django.conf import settings
from django.urls import reverse

from orders import roles

# Words, URL name, and who is led there; each view guards itself as well.
PAGES = (
    ("Orders", "orders", (roles.SALES, roles.MANAGER)),
    ("Customers", "customers", (roles.SALES, roles.MANAGER)),
    ("Stations", "stations", (roles.MAKER, roles.CHECKER, roles.MANAGER)),
    ("Day sheet", "day", (roles.SALES, roles.CHECKER, roles.MANAGER, roles.ADMINISTRATOR)),
    ("Catalogue", "catalogue", (roles.SALES, roles.MANAGER, roles.ADMINISTRATOR)),
    ("Faults", "faults", (roles.MANAGER,)),
    ("Safety", "rules", roles.ROLE_NAMES),
    ("Tablets", "tablets", (roles.MANAGER,)),
    ("People", "people", (roles.ADMINISTRATOR,)),
)
AT_THE_BENCH = ("stations", "rules")


@cache
def version():
    """The first version heading of CHANGELOG.md, such as '0.1.0'."""
    text = (settings.BASE_DIR / "CHANGELOG.md").read_text(encoding="utf-8")
    return re.search(r"^## (\S+)", text, re.MULTILINE).group(1)


def workshop(request):
    return {
        "workshop_name": settings.WORKSHOP_NAME,
        "version": version(),
        "navigation": list(navigation(request)),
    }


def navigation(request):
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return
    for words, name, allowed in PAGES:
        if user.holds(*allowed) and (name in AT_THE_BENCH or not roles.at_the_bench(request)):
            url = reverse(name)
            yield {"words": words, "url": url, "current": request.path.startswith(url)}
