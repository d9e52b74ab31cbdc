"""The WSGI application that a server such as gunicorn runs."""

import os
from http import HTTPStatus

from django.core.exceptions import BadRequest
from django.core.wsgi import get_wsgi_application
from django.utils.http import parse_header_parameters

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
pages = get_wsgi_application()
NO_LENGTH = "This was sent in pieces, without saying how long it is. Send it with Content-Length."
CUT_SHORT = "Only a part of what was sent came here. Nothing was recorded. Send it again."


class Whole:
    """A body that must be as long as it said: a form without its end would still be one that can be read.

    Raises BadRequest, which Django answers with 400, where less came.
    """

    def __init__(self, sent, length):
        self._sent, self._lacks = sent, length

    def read(self, size=-1):
        """The next `size` bytes, or all of them where that is negative."""
        due = self._lacks if size < 0 else min(size, self._lacks)
        data = self._sent.read(due)
        if len(data) < due:
            raise BadRequest(CUT_SHORT)
        self._lacks -= due
        return data

    def readline(self, size=-1):
        """The next line, of at most `size` bytes."""
        line = self._sent.readline(self._lacks if size < 0 else min(size, self._lacks))
        if not line and self._lacks:
            raise BadRequest(CUT_SHORT)
        self._lacks -= len(line)
        return line


def application(environ, start_response):
    """Django's, for what is written in UTF-8, says how long it is and is as long; anything else is refused.

    Django reads the address by the charset that a body names, before anything of it can refuse a request: one that is
    none, or too many values, would break there. Of a body without length it would read nothing.
    """
    if "HTTP_TRANSFER_ENCODING" in environ:
        return _refused(HTTPStatus.LENGTH_REQUIRED, NO_LENGTH, environ, start_response)
    length = environ.get("CONTENT_LENGTH") or "0"
    environ["wsgi.input"] = Whole(environ["wsgi.input"], int(length) if length.isdecimal() else 0)
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
