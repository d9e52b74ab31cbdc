"""Requests made from the API's own OpenAPI document, good and bad: every answer is one that the document says."""

import itertools
import os
from collections import Counter

import pytest
import schemathesis
from django.core.signals import request_finished, request_started
from django.core.wsgi import get_wsgi_application
from django.db import close_old_connections
from hypothesis import HealthCheck, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi import checks

from orders import api_keys
from production.api.reference import document
from tests import factories
from tests.production import api_desk
from tests.production.api_desk import Program

pytestmark = pytest.mark.once

EXAMPLES = int(os.environ.get("API_EXAMPLES", "20"))
"""So many requests of each operation; more for a longer look by hand."""

# Every answer is documented, with its media type, headers and shape; a body that breaks the document is refused; a
# method that it doesn't name is told so; a key is needed. What fits the document may still be refused: an order of a
# fabric that isn't offered, or of a size that can't be made, fits it too.
CHECKS = (
    not_a_server_error,
    checks.status_code_conformance,
    checks.content_type_conformance,
    checks.response_headers_conformance,
    checks.response_schema_conformance,
    checks.missing_required_header,
    checks.unsupported_method,
    checks.ignored_auth,
)

ANSWERS = Counter()
_turns = itertools.count(1)

schema = schemathesis.openapi.from_dict(document())
schema.app = get_wsgi_application()


@pytest.fixture
def one_connection(db):
    """The server closes its connection after each request, and here it is the test's own."""
    ends = (request_started, request_finished)
    for signal in ends:
        signal.disconnect(close_old_connections)
    yield
    for signal in ends:
        signal.connect(close_old_connections)


@pytest.fixture
def program(one_connection, monkeypatch):
    monkeypatch.setattr(api_keys, "AT_ONCE", 10**6)
    api_desk.catalogue()
    blind = factories.released()[0]
    factories.order(lines=[{}])
    assert blind.order.number == 1
    return Program()


@schema.hook
def map_body(context, body):
    """Most orders name a system and fabric that there are, or nearly all would be refused for those alone."""
    lines = body.get("lines") if isinstance(body, dict) else None
    for line in lines if isinstance(lines, list) else ():
        if isinstance(line, dict) and line.get("vane_width_mm") in (89, 127) and next(_turns) % 8:
            line.update(system="demo-38", fabric=f"linden-{line['vane_width_mm']}")
    return body


@schema.hook
def map_headers(context, headers):
    """Most orders come under an idempotency key of their own."""
    given = (headers or {}).get("Idempotency-Key")
    if isinstance(given, str) and 0 < len(given) < 50 and next(_turns) % 8:
        headers["Idempotency-Key"] = f"{given}-{next(_turns)}"
    return headers


@schema.parametrize()
@settings(max_examples=EXAMPLES, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
def test_every_answer_is_one_that_the_document_says(case, program):
    headers = {"Authorization": f"Bearer {program.secret}"}
    # A value that breaks an address may be lost on the way into it, and what arrives is good; a body arrives whole.
    sent = (checks.negative_data_rejection,) if case.method == "POST" else ()
    answer = case.call_and_validate(headers=headers, checks=CHECKS + sent)
    ANSWERS[case.operation.label, answer.status_code] += 1


def test_orders_were_entered_and_refused_and_places_found_and_not_found():
    """Else nothing was tried."""
    print(sorted(ANSWERS.items()))
    if len({operation for operation, _ in ANSWERS}) < 7:
        pytest.skip("the requests themselves were not all run")
    post, one = "POST /api/v1/orders", "GET /api/v1/orders/{number}"
    wanted = {(post, 201), (post, 409), (post, 422), (post, 401), (one, 200), (one, 404), (one, 405)}
    assert wanted <= set(ANSWERS)
