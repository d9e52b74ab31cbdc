"""The WSGI application that a server such as gunicorn runs."""

import os
from http import HTTPStatus

from django.core.wsgi import get_wsgi_application
from django.utils.http import parse_header_parameters

from config.uploads import MOST_SENT_BYTES

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
pages = get_wsgi_application()
NO_LENGTH = "This was sent in pieces, without saying how long it is. Send it with Content-Length."
TOO_LARGE = f"This is larger than {MOST_SENT_BYTES // 1_000_000} MB and was not read. Go back, choose a smaller file."


def application(environ, start_response):
    """Django's, for what is written in UTF-8, says how long it is and is not too large; anything else is refused.

    Django reads the address by the charset that a body names, before anything of it can refuse a request: one that is
    none, or too many values, would break there. Of a body without length it would read nothing.
    """
    if "HTTP_TRANSFER_ENCODING" in environ:
        return _refused(HTTPStatus.LENGTH_REQUIRED, NO_LENGTH, environ, start_response)
    length = environ.get("CONTENT_LENGTH") or "0"
    if length.isdecimal() and int(length) > MOST_SENT_BYTES:
        return _refused(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, TOO_LARGE, environ, start_response)
    kind, said = parse_header_parameters(environ.get("CONTENT_TYPE", ""))
    if "charset" in said:
        charset = said.pop("charset")
        if charset.lower() not in ("utf-8", "utf8"):
            words = f"This was sent as {charset[:40]}. Send it as UTF-8."
            return _refused(HTTPStatus.UNSUPPORTED_MEDIA_TYPE, words, environ, start_response)
        environ["CONTENT_TYPE"] = "; ".join([kind, *(f'{name}="{value}"' for name, value in said.items())])
    return pages(environ, start_response)


def _refused(found, words, environ, start_response):
    start_response(f"{found.value} {found.phrase}", [("Content-Type", "text/plain; charset=utf-8")])
    return [] if environ["REQUEST_METHOD"] == "HEAD" else [words.encode()]
