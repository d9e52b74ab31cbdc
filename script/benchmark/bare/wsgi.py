"""The floor's application, for the same server as ours; its templates are compiled before the first request."""

import os
from pathlib import Path

from django.core.wsgi import get_wsgi_application

os.environ["DJANGO_SETTINGS_MODULE"] = "script.benchmark.bare.settings"
application = get_wsgi_application()

from django.template import loader  # noqa: E402

if folder := os.environ.get("BARE_TEMPLATES"):
    for path in Path(folder).glob("*.html"):
        loader.get_template(path.name)
