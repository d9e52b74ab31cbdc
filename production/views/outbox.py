"""What waited on a tablet without network: recorded one event at a time, in the name of whoever entered it."""

import datetime as dt

from django.contrib.auth.decorators import login_not_required
from django.http import JsonResponse
from django.utils import timezone
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_http_methods

from orders.languages import translated
from production import record, tablets
from production.words import _

from .posted import data_of, event_id_of, issue_of

LONGEST_WAIT_MS = 10**10
"""Some 116 days: longer than any form is taken, and short enough to be a time."""
READY, RECORDED, AGAIN, REFUSED, HELD = "ready", "recorded", "again", "refused", "held"


class Held(Exception):
    """It can't be taken now but can be later; the message says what it waits for."""


@translated
@login_not_required
@ensure_csrf_cookie
@require_http_methods(["GET", "POST"])
def outbox(request):
    """Take one event that waited: the fields of its form, with `station`, `code` and `waited_ms`; answered as JSON.

    `result` is recorded, again (it was there already), refused (with `reasons`; it will never be taken as it is) or
    held (with `reasons`; to be sent again later). GET only gives the cookie that a POST needs.
    """
    if request.method == "GET":
        return JsonResponse({"result": READY})
    try:
        recorded = _record(request)
    except Held as held:
        return JsonResponse({"result": HELD, "reasons": [str(held)]}, status=401)
    except tablets.Refused as refused:
        return JsonResponse({"result": REFUSED, "reasons": [str(refused)]}, status=422)
    except record.Refused as refused:
        return JsonResponse({"result": REFUSED, "reasons": refused.problems}, status=422)
    return JsonResponse({"result": AGAIN if recorded.again else RECORDED})


def _record(request):
    posted, now = request.POST, timezone.now()
    entered = _entered_for(request)
    return record.record(
        event_id=event_id_of(posted.get("event_id", "")),
        code=posted.get("code", "").replace("\0", ""),
        station=posted.get("station", ""),
        kind=posted.get("kind", ""),
        by=entered.person,
        at=now - _waited(posted.get("waited_ms", "")),
        data=data_of(posted),
        issue=issue_of(posted),
        tablet=entered.tablet,
        received_at=now,
    )


def _entered_for(request):
    """Who entered it and where, by what the form was signed with; the session may be another's by now, or over."""
    token = request.POST.get("maker", "")
    entered = tablets.read_maker_token(token, max_age=tablets.REPLAYED_WITHIN)
    if entered.tablet:
        tablets.replayed_for(token, tablet=getattr(request, "tablet", None))
    elif entered.person != request.user:
        raise Held(_("{person} must sign in on this tablet; then it is sent by itself.", person=entered.person))
    return entered


def _waited(text):
    """How long it waited, by the tablet's own clock alone; nothing where that clock was put back meanwhile."""
    waited_ms = int(text) if text.isascii() and text.isdigit() else 0
    return dt.timedelta(milliseconds=min(waited_ms, LONGEST_WAIT_MS))
