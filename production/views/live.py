"""The stream of changes that pages follow, for the process that serves nothing else."""

import time
from urllib.parse import urlsplit

from django.conf import settings
from django.core.signing import BadSignature, Signer
from django.http import HttpResponseForbidden, StreamingHttpResponse
from django.views.decorators.http import require_GET

from production import live

SALT = "live"


def token(*, until):
    """What a page shows to be let in to the stream, until the moment `until` in seconds since 1970."""
    return Signer(salt=SALT).sign(f"{until:.0f}")


def token_from_now():
    """One that lasts as long as a session."""
    return token(until=time.time() + settings.SESSION_COOKIE_AGE)


@require_GET
async def stream(request):
    """Server-sent events for as long as the page's token lasts; 403 without one that does."""
    try:
        until = let_in(request.GET.get("token", ""))
    except NotLetIn as why:
        return HttpResponseForbidden(str(why), content_type="text/plain")
    answer = StreamingHttpResponse(live.streams().follow(until=until), content_type="text/event-stream")
    answer["Cache-Control"] = "no-store"
    # A proxy such as nginx would keep the words back until it has a bufferful.
    answer["X-Accel-Buffering"] = "no"
    origin = request.headers.get("Origin", "")
    if is_of_this_host(origin, request.get_host()):
        answer["Access-Control-Allow-Origin"] = origin
        answer["Vary"] = "Origin"
    return answer


class NotLetIn(Exception):
    """The page may not follow; the message says why and what to do."""


def let_in(token):
    """Until when the token lets in; raises NotLetIn where it is nobody's or too old."""
    try:
        until = float(Signer(salt=SALT).unsign(token))
    except BadSignature:
        raise NotLetIn("No page of this workshop was given that token. Reload the page.") from None
    if until < time.time():
        raise NotLetIn("The page has been open for longer than a shift. Reload it.")
    return until


def is_of_this_host(origin, host):
    """Whether a page at `origin` was served by this machine too, at whatever port."""
    return bool(origin) and urlsplit(origin).hostname == urlsplit(f"//{host}").hostname
