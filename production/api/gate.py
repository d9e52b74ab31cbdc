"""What each request of another program passes: its key, its turn, its method, and problems in one form."""

import datetime as dt
import json
import logging
from dataclasses import dataclass, field

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpResponse
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt

from orders import api_keys
from production import trouble

from .problems import Problem, not_now

log = logging.getLogger(__name__)
CHALLENGE = {"WWW-Authenticate": 'Bearer realm="orders"'}


@dataclass(frozen=True, kw_only=True)
class Operation:
    """One thing that can be asked for. `answer(request, key, **path)` gives what is said, or raises Problem.

    `scope` is what the key must hold, or "" where any key will do; `query` and `body` are models of what is sent,
    `says` of what is answered with `status`; `problems` are the kinds that may come beside those of every operation.
    """

    method: str
    name: str
    summary: str
    answer: object
    says: type
    status: int = 200
    scope: str = ""
    query: type | None = None
    body: type | None = None
    takes_idempotency_key: bool = False
    problems: tuple[str, ...] = ()


@dataclass(frozen=True)
class Answer:
    """JSON text to be answered, with headers of its own."""

    text: str
    headers: dict = field(default_factory=dict)


def address(*operations):
    """The view of one address, with each operation by its method. It asks for a key; a session opens nothing."""
    by_method = {operation.method: operation for operation in operations}
    by_method.setdefault("HEAD", by_method.get("GET"))
    allowed = ", ".join(sorted(method for method, operation in by_method.items() if operation))

    @csrf_exempt
    @login_not_required
    def view(request, **path):
        try:
            key = _key(request)
            operation = by_method.get(request.method)
            if operation is None:
                detail = f"{request.path} doesn't take {request.method}. It takes {allowed}."
                raise Problem("wrong-method", detail, headers={"Allow": allowed})
            _require_scope(key, operation)
            return _said(operation.answer(request, key, **path), operation.status)
        except Problem as problem:
            return problem.answer()
        except api_keys.Revoked:
            return _no_key("This key was revoked.").answer()
        except Exception as error:
            log.exception("no answer to %s %s", request.method, request.path)
            return _broken(error).answer()

    view.operations = operations
    return view


@csrf_exempt
@login_not_required
def nothing(request, **path):
    """Every address under the API's own that leads nowhere."""
    detail = f"There is nothing at {request.path[:100]}. /api/v1/openapi.json says what there is; no address ends in /."
    return Problem("not-there", detail).answer()


def _key(request):
    """The key that asks, with its turn taken. Raises Problem."""
    if settings.HTTPS and not request.is_secure():
        raise _no_key("Ask by https. A key that was sent without it has been open to others: ask for another one.")
    scheme, _, secret = request.headers.get("Authorization", "").partition(" ")
    if scheme.lower() != "bearer" or not secret.strip():
        raise _no_key("Send the header 'Authorization: Bearer' with the key. A session opens nothing here.")
    key = api_keys.known(secret.strip())
    if key is None:
        raise _no_key("This key is not known, or was revoked. Ask an administrator of the workshop for one.")
    wait = api_keys.take_turn(key=key, at=timezone.now())
    if wait:
        detail = (
            f"The key {key} may ask {api_keys.PER_MINUTE} times a minute, and {api_keys.AT_ONCE} times at once. "
            f"Wait {wait} s."
        )
        raise Problem("too-many", detail, headers={"Retry-After": str(wait)})
    request.api_key = key
    return key


def _broken(error):
    found = trouble.of(error)
    if found:
        return not_now(found)
    return Problem(
        "broken", "This is not your doing. Send the same again later, or tell the workshop when it happened."
    )


def _no_key(detail):
    return Problem("no-key", detail, headers=CHALLENGE)


def _require_scope(key, operation):
    if operation.scope and not key.may(operation.scope):
        has = ", ".join(key.scopes) or "none"
        detail = (
            f"This takes the scope {operation.scope}; the key {key} has {has}. Ask an administrator for another key."
        )
        raise Problem("not-allowed", detail)


def _said(found, status):
    answer = found if isinstance(found, Answer) else Answer(as_json(found))
    return HttpResponse(
        answer.text,
        status=status,
        content_type="application/json",
        headers={"Cache-Control": "no-store", **answer.headers},
    )


def as_json(said):
    """`said` as JSON text, with moments in UTC and days as text."""
    return json.dumps(said, ensure_ascii=False, allow_nan=False, default=_plain)


def _plain(value):
    if isinstance(value, dt.datetime):
        return value.astimezone(dt.UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
    if isinstance(value, dt.date):
        return value.isoformat()
    raise TypeError(f"{value!r} can't be said in JSON")
