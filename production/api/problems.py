"""What is answered where something can't be done: problem details for HTTP APIs (RFC 9457), one form for all.

Each says what is wrong with its values and what to do next. Never a stack trace.
"""

import json
from dataclasses import dataclass

from django.http import HttpResponse
from django.urls import reverse

MEDIA_TYPE = "application/problem+json"


@dataclass(frozen=True, kw_only=True)
class Kind:
    """One kind of problem: `title` is the same every time, `means` says when it comes and what to do."""

    key: str
    status: int
    title: str
    means: str


KINDS = {
    kind.key: kind
    for kind in (
        Kind(
            key="unreadable",
            status=400,
            title="What was sent can't be read",
            means="It is no JSON in UTF-8, or lacks what must come with it. Nothing was written.",
        ),
        Kind(
            key="no-key",
            status=401,
            title="No key that is in use was given",
            means="The header is 'Authorization: Bearer' and the key. A key that was revoked opens nothing any more.",
        ),
        Kind(
            key="not-allowed",
            status=403,
            title="The key may not do this",
            means="An administrator makes a key with other scopes, or for other customers.",
        ),
        Kind(
            key="not-there",
            status=404,
            title="There is nothing here",
            means="No such address, or no such order that this key may know of.",
        ),
        Kind(
            key="wrong-method",
            status=405,
            title="This address takes another method",
            means="The header Allow says which.",
        ),
        Kind(
            key="reused",
            status=409,
            title="The idempotency key was used for something else",
            means="The same key with the same order gets the first answer again. Another order needs a key of its own.",
        ),
        Kind(
            key="lost-place",
            status=410,
            title="There is no such place to go on from",
            means="The place was not given out here, or before older data were restored. Ask again without since.",
        ),
        Kind(
            key="too-large",
            status=413,
            title="What was sent is too large",
            means="Split the order.",
        ),
        Kind(
            key="not-json",
            status=415,
            title="Only JSON is read here",
            means="Send it with 'Content-Type: application/json'.",
        ),
        Kind(
            key="invalid",
            status=422,
            title="What was sent doesn't say what is needed",
            means="Each of errors names one value and what to give instead. Nothing was written.",
        ),
        Kind(
            key="refused",
            status=422,
            title="The order can't be made as it stands",
            means="Each of errors names the line, counted from 0, and the way out. Nothing was written, and the "
            "idempotency key is still free.",
        ),
        Kind(
            key="too-many",
            status=429,
            title="Too many requests",
            means="The header Retry-After says how many seconds to wait.",
        ),
        Kind(
            key="broken",
            status=500,
            title="Something is wrong at the workshop's end",
            means="It is in the server's log. Send the same again later; under one idempotency key nothing is ordered "
            "twice.",
        ),
        Kind(
            key="busy",
            status=503,
            title="The workshop's server can't take it just now",
            means="detail says why, and the header Retry-After when to send the same again; under one idempotency key "
            "nothing is ordered twice.",
        ),
    )
}


class Problem(Exception):
    """What was asked for can't be done. errors are dicts of pointer, line, field, value, code and detail."""

    def __init__(self, key, detail, *, errors=(), headers=None):
        super().__init__(detail)
        self.kind, self.detail, self.errors, self.headers = KINDS[key], detail, list(errors), headers or {}

    def answer(self):
        body = {
            "type": f"{reverse('api')}#{self.kind.key}",
            "title": self.kind.title,
            "status": self.kind.status,
            "detail": self.detail,
        }
        if self.errors:
            body["errors"] = self.errors
        return HttpResponse(
            json.dumps(body, ensure_ascii=False),
            status=self.kind.status,
            content_type=MEDIA_TYPE,
            headers={"Cache-Control": "no-store", **self.headers},
        )


def not_now(found):
    """The problem that says what keeps the server from working: `found` is a production.trouble.Trouble."""
    detail = f"{found.what} Send the same again after {found.wait_s} s."
    return Problem("busy", detail, headers={"Retry-After": str(found.wait_s)})


def error(*, detail, pointer="#", line=None, field="", value=None, code):
    """One thing that is wrong: where it stands (a JSON pointer), in which line, its value and the way out."""
    return {"pointer": pointer, "line": line, "field": field, "value": value, "code": code, "detail": detail}
