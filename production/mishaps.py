"""The only writer of what broke and what was slow.

Nothing here may break an answer that is finished: where it can't be written down, the log alone has it.
"""

import logging
import time
import traceback
from pathlib import Path

from django.conf import settings
from django.db import Error
from django.utils import timezone

from .models import Mishap

KEPT = 500
"""How many are kept; the oldest go first."""
SLOW_EVERY_S = 60
"""How often a process writes one address down as slow; what comes between is counted to the next."""

log = logging.getLogger(__name__)
_slow = {}


def broke(*, route, number, error=None):
    """The request `number` was answered with an error of ours; `error` is the exception where it is known."""
    _write(kind=Mishap.BROKE, route=route, number=number, said=place(error) if error else "the log says what")


def slow(*, route, number, ms, queries):
    """The request `number` took `ms` milliseconds, with so many queries."""
    now = time.monotonic()
    told_at, times = _slow.get(route, (None, 0))
    if told_at is not None and now - told_at < SLOW_EVERY_S:
        _slow[route] = (told_at, times + 1)
        return
    _slow[route] = (now, 0)
    _write(kind=Mishap.SLOW, route=route, number=number, ms=ms, queries=queries, times=times + 1)


def place(error):
    """The kind of error and our own innermost line that it came through, such as 'KeyError in orders/lines.py, 12'."""
    own = [
        f"{Path(frame.filename).relative_to(settings.BASE_DIR)}, {frame.lineno}"
        for frame in traceback.extract_tb(error.__traceback__)
        if Path(frame.filename).is_relative_to(settings.BASE_DIR) and ".venv" not in frame.filename
    ]
    return " in ".join([type(error).__name__, *own[-1:]])[:200]


def _write(*, route, number, **what):
    try:
        new = Mishap.objects.create(at=timezone.now(), route=route[:60], number=number, **what)
        Mishap.objects.up_to(new.pk - KEPT).delete()
    except Error:
        log.warning("request %s could not be written down as %s", number, what["kind"], exc_info=True)
