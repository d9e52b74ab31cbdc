"""Whether this process answers (/health/), and whether all that it needs does (/ready/), for programs that watch it.

Both are answered before host, session and sign-in are looked at, and say nothing of the workshop.
"""

from dataclasses import asdict, dataclass

from asgiref.sync import iscoroutinefunction, markcoroutinefunction, sync_to_async
from django.contrib.auth.decorators import login_not_required
from django.db import Error
from django.http import JsonResponse
from django.urls import path
from django.views.decorators.http import require_safe

from config.metrics import metrics
from orders import versions
from orders.work import worker_seen
from production import machine


@dataclass(frozen=True, kw_only=True)
class Check:
    """One thing that was looked at. `needed`: whether no page can be answered rightly without it."""

    name: str
    ok: bool
    words: str
    needed: bool = True


@login_not_required
@require_safe
def health(request):
    """200 as long as this process answers at all; nothing else is looked at."""
    return _said({"alive": True})


@login_not_required
@require_safe
def ready(request):
    """200 where all that is needed is there, else 503; either way each check with its words."""
    checks = list(looked_at())
    is_ready = all(check.ok for check in checks if check.needed)
    return _said({"ready": is_ready, "checks": [asdict(check) for check in checks]}, status=200 if is_ready else 503)


def looked_at():
    """Each check; without a database that answers, those of it are left out."""
    try:
        machine.database_ms()
    except Error:
        yield Check(name="database", ok=False, words="The database doesn't answer.")
    else:
        yield Check(name="database", ok=True, words="The database answers.")
        yield _fits()
        yield _worker()
    yield _room()


def _fits():
    said = versions.misfit()
    return Check(name="version", ok=not said, words=said or "The database is of this version.")


def _room():
    disk = machine.disk()
    why = "the disk is full" if disk.is_full else machine.may_write()
    words = f"Nothing can be written: {why}." if why else f"{disk.free // 1_000_000} MB are free to write."
    return Check(name="disk", ok=not why, words=words)


def _worker():
    """Pages are answered without a worker; what is left to it waits."""
    seen = worker_seen()
    lives = bool(seen and seen.lives)
    words = "A worker does what waits." if lives else "No worker runs. Start one: manage.py work"
    return Check(name="worker", ok=lives, words=words, needed=False)


def _said(what, status=200):
    return JsonResponse(what, status=status, headers={"Cache-Control": "no-store"})


FIRST = {"/health/": health, "/ready/": ready, "/metrics/": metrics}
urlpatterns = [path(address[1:], view, name=view.__name__) for address, view in FIRST.items()]


class AnsweredFirst:
    """Answers who watches before anything else: by whatever name of the host, plain http, and with no database."""

    sync_capable = async_capable = True

    def __init__(self, get_response):
        self.get_response = get_response
        self._views = FIRST
        if iscoroutinefunction(get_response):
            markcoroutinefunction(self)
            self._views = {address: sync_to_async(view) for address, view in FIRST.items()}

    def __call__(self, request):
        return self._views.get(request.path_info, self.get_response)(request)
