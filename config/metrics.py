"""What this server did and how it stands, in the open text format that monitoring programs read.

gunicorn's processes share their counts through a folder that config/gunicorn_settings.py makes; any other process
counts for itself. https://prometheus.io/docs/instrumenting/exposition_formats/
"""

import ipaddress
import os
import secrets

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpResponse, HttpResponseForbidden
from django.views.decorators.http import require_GET
from prometheus_client import CollectorRegistry, Counter, Histogram, generate_latest
from prometheus_client.exposition import CONTENT_TYPE_LATEST
from prometheus_client.multiprocess import MultiProcessCollector

from config.standing import Standing

SECONDS = (0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10)
METHODS = {"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"}
FORWARDED = ("X-Forwarded-For", "Forwarded", "Via", "X-Real-IP")
"""What a proxy adds: whoever comes through one is not on this machine, though the proxy may be."""

counted = CollectorRegistry()
SECONDS_TAKEN = Histogram(
    "railwright_request_seconds",
    "How long answers took, by address, method and status.",
    ("route", "method", "status"),
    registry=counted,
    buckets=SECONDS,
)
QUERIES = Counter(
    "railwright_queries", "Questions put to the database while answering, by address.", ("route",), registry=counted
)


def answered(*, route, method, status, seconds, queries):
    """Count one answer."""
    route = route or "none"
    SECONDS_TAKEN.labels(route, method if method in METHODS else "other", str(status)).observe(seconds)
    if queries:
        QUERIES.labels(route).inc(queries)


def may_read(request):
    """Whether whoever asks shows METRICS_TOKEN, or, where none is set, is on this machine itself."""
    if settings.METRICS_TOKEN:
        scheme, _, token = request.headers.get("Authorization", "").partition(" ")
        return scheme.lower() == "bearer" and secrets.compare_digest(
            token.strip().encode(), settings.METRICS_TOKEN.encode()
        )
    if any(name in request.headers for name in FORWARDED):
        return False
    try:
        return ipaddress.ip_address(request.META.get("REMOTE_ADDR", "")).is_loopback
    except ValueError:
        return False


@login_not_required
@require_GET
def metrics(request):
    if not may_read(request):
        refused = "Ask from this machine itself, or set METRICS_TOKEN and send it as 'Authorization: Bearer'."
        return HttpResponseForbidden(refused, content_type="text/plain")
    registry = CollectorRegistry()
    registry.register(Standing())
    if "PROMETHEUS_MULTIPROC_DIR" in os.environ:
        MultiProcessCollector(registry)
        own = b""
    else:
        own = generate_latest(counted)
    return HttpResponse(own + generate_latest(registry), content_type=CONTENT_TYPE_LATEST)
