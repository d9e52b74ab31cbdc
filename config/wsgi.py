"""The WSGI application that a server such as gunicorn runs."""

import os
from http import HTTPStatus

from django.core.wsgi import get_wsgi_application
from django.utils.http import parse_header_parameters

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
pages = get_wsgi_application()


def application(environ, start_response):
    """Django's, for what is written in UTF-8; anything that says otherwise is refused.

    Django reads the address by the charset that a body names, before anything of it can refuse a request: one that is
    none, or too many values, would break there.
    """
    kind, said = parse_header_parameters(environ.get("CONTENT_TYPE", ""))
    if "charset" in said:
        charset = said.pop("charset")
        if charset.lower() not in ("utf-8", "utf8"):
            return _refused(f"This was sent as {charset[:40]}. Send it as UTF-8.", environ, start_response)
        environ["CONTENT_TYPE"] = "; ".join([kind, *(f'{name}="{value}"' for name, value in said.items())])
    return pages(environ, start_response)


def _refused(words, environ, start_response):
    found = HTTPStatus.UNSUPPORTED_MEDIA_TYPE
    start_response(f"{found.value} {found.phrase}", [("Content-Type", "text/plain; charset=utf-8")])
    return [] if environ["REQUEST_METHOD"] == "HEAD" else [words.encode()]
