"""The request that is being answered: its number, and what the logs and the figures say of it."""

import logging
import re
import secrets
import time

from asgiref.sync import iscoroutinefunction, markcoroutinefunction, sync_to_async
from django.conf import settings
from django.db import connection

from config import logs, metrics
from production import mishaps

HEADER = "X-Request-ID"
SANE = re.compile(r"[A-Za-z0-9._-]{8,64}")
"""What a proxy may call a request; anything else is given a number of our own."""

log = logging.getLogger(__name__)


class Asked:
    """One request from its first moment on. `error` is what broke it, once something has."""

    def __init__(self, request):
        given = request.headers.get(HEADER, "")
        self.number = given if SANE.fullmatch(given) else new_number()
        self.request = request
        self.queries = 0
        self.error = None
        self._began = time.perf_counter()

    @property
    def route(self):
        """The name of its address, which says nothing of whom or what it was about; "" where there is none."""
        found = self.request.resolver_match
        return found.view_name if found else ""

    @property
    def person(self):
        """The number of whoever asks, where that is known already; looking it up is not worth a query."""
        return getattr(getattr(self.request, "_cached_user", None), "pk", None)

    @property
    def tablet(self):
        return getattr(getattr(self.request, "tablet", None), "pk", None)

    @property
    def ms(self):
        return round((time.perf_counter() - self._began) * 1000, 1)

    def count(self, execute, sql, params, many, context):
        """A wrapper for django.db: counts the query and executes it."""
        self.queries += 1
        return execute(sql, params, many, context)

    def answered(self, response):
        """Say of the answer what is to be said; returns it with the request's number in its head."""
        response.headers[HEADER] = self.number
        ms = self.ms
        metrics.answered(
            route=self.route,
            method=self.request.method,
            status=response.status_code,
            seconds=ms / 1000,
            queries=self.queries,
        )
        said = {"status": response.status_code, "ms": ms, "queries": self.queries}
        if ms > settings.SLOW_MS:
            log.warning("slow: %s took %.0f ms with %d queries", self.route or "no page", ms, self.queries, extra=said)
            # While the database doesn't answer, asking it to keep this too would take as long again.
            if response.status_code != 503:
                mishaps.slow(route=self.route, number=self.number, ms=ms, queries=self.queries)
        else:
            log.info("%s %s %d", self.request.method, self.route or "no page", response.status_code, extra=said)
        if response.status_code == 500:
            mishaps.broke(route=self.route, number=self.number, error=self.error)
        return response


def new_number():
    """Twelve digits, which can be told over a telephone in any language."""
    digits = f"{secrets.randbelow(10**12):012d}"
    return f"{digits[:4]}-{digits[4:8]}-{digits[8:]}"


class Numbered:
    """Gives each request its number, and says in logs and figures how it was answered."""

    sync_capable = async_capable = True

    def __init__(self, get_response):
        self.get_response = get_response
        if iscoroutinefunction(get_response):
            markcoroutinefunction(self)

    def __call__(self, request):
        if iscoroutinefunction(self):
            return self._awaited(request)
        asked = Asked(request)
        before = logs.answering.set(asked)
        try:
            with connection.execute_wrapper(asked.count):
                response = self.get_response(request)
            return asked.answered(response)
        finally:
            logs.answering.reset(before)

    async def _awaited(self, request):
        asked = Asked(request)
        before = logs.answering.set(asked)
        try:
            return await sync_to_async(asked.answered)(await self.get_response(request))
        finally:
            logs.answering.reset(before)
