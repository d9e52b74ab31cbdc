"""What every page shows: the workshop's name and the version."""

import re
from functools import cache

from django.conf import settings


@cache
def version():
    """The first version heading of CHANGELOG.md, such as '0.1.0'."""
    text = (settings.BASE_DIR / "CHANGELOG.md").read_text(encoding="utf-8")
    return re.search(r"^## (\S+)", text, re.MULTILINE).group(1)


def workshop(request):
    return {"workshop_name": settings.WORKSHOP_NAME, "version": version()}
