"""What is answered while the server can't work: why, what became of what was sent, and what to do.

503 with Retry-After for everybody: a page for people, a line for a page that asks by itself, JSON for other programs. A
tablet keeps what was entered and sends it again; an event's id keeps it from being recorded twice.
"""

from urllib.parse import quote

from django.core.exceptions import BadRequest, SuspiciousOperation
from django.http import HttpResponse
from django.http.request import RawPostDataException
from django.template import loader
from django.urls import Resolver404, resolve
from django.utils import translation

from config import logs
from orders import languages, versions
from production import trouble
from production.api.problems import not_now
from production.api.reference import ROOT
from production.words import _

HEADER = "X-Trouble"
"""What is wrong and what to do, in the reader's language, percent-encoded: for scripts."""
SECRET = {"password", "password1", "password2", "pin"}
"""A form with a field whose name has such a word is never written into a page."""


def answer(request, found):
    """The answer to `request` while there is the trouble `found`."""
    if request.path_info.startswith(ROOT):
        return not_now(found).answer()
    headers = {"Retry-After": str(found.wait_s), "Cache-Control": "no-store"}
    with translation.override(_language(request)):
        said = f"{_(found.what)} {_(found.do)}"
        headers |= {HEADER: quote(said), "Content-Language": translation.get_language()}
        if "HX-Request" in request.headers or "text/html" not in request.headers.get("Accept", "text/html"):
            return HttpResponse(said, status=503, content_type="text/plain; charset=utf-8", headers=headers)
        page = loader.render_to_string("503.html", _shown(request, found))
    return HttpResponse(page, status=503, headers=headers)


def _shown(request, found):
    is_sent = request.method not in ("GET", "HEAD")
    return {
        "what": _(found.what),
        "do": _(found.do),
        "wait_s": found.wait_s,
        "is_sent": is_sent,
        "is_whole": found is not trouble.DAMAGED,
        "surely_not": found is trouble.UPGRADED or _nothing_asked(),
        "again": _again(request) if is_sent else None,
    }


def _nothing_asked():
    """Whether not even one question was put to the database for this request."""
    asked = logs.answering.get()
    return asked is not None and asked.queries == 0


def _again(request):
    """What was sent, as names and values for a form that sends it again, or None where it can't be."""
    try:
        if request.FILES:
            return None
        fields = [(name, value) for name, values in request.POST.lists() for value in values]
    except (OSError, RawPostDataException, BadRequest, SuspiciousOperation):
        return None
    return None if any(SECRET & {*name.split("_")} for name, _value in fields) else fields


def _language(request):
    """The reader's where the page is translated; who reads is not known without a database, but the browser is."""
    try:
        view = (request.resolver_match or resolve(request.path_info)).func
    except Resolver404:
        view = None
    return translation.get_language_from_request(request) if getattr(view, "translated", False) else languages.ENGLISH


class OfThisVersion:
    """Answers nothing while the database is of another version than this program."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        if versions.look.fits():
            return self.get_response(request)
        return answer(request, trouble.UPGRADED)
