"""Whether the database is of this version of the program: neither may write for the other."""

import logging
import time
from functools import cache

from django.db import Error, connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

LOOK_EVERY_S = 10
"""How often it is looked whether the database is of this version."""
AGAIN_S = 1
"""How soon it is looked again where the database didn't answer."""

log = logging.getLogger(__name__)


@cache
def known_migrations():
    """Those that this version of the code brings."""
    return frozenset(MigrationLoader(None, ignore_no_migrations=True).disk_migrations)


def misfits():
    """The migrations that the database still lacks, and those in it that this code doesn't know, as two lists."""
    applied = set(MigrationRecorder(connection).applied_migrations())
    apps = {app for app, _ in known_migrations()}
    lacking = sorted(f"{app} {name}" for app, name in known_migrations() - applied)
    unknown = sorted(f"{app} {name}" for app, name in applied - known_migrations() if app in apps)
    return lacking, unknown


def misfit():
    """What keeps the two apart and what to do, in words; "" where they fit."""
    lacking, unknown = misfits()
    if lacking:
        return f"The database lacks {len(lacking)} of this version's changes. Run: manage.py migrate"
    if unknown:
        return f"The database has {len(unknown)} changes of a newer version. Start that version."
    return ""


class Look:
    """What was seen last of whether database and program fit, and when that is looked at again."""

    def __init__(self):
        self._until, self._fits = 0.0, True

    def fits(self):
        """Looked at at most every LOOK_EVERY_S seconds, with two short queries."""
        if time.monotonic() >= self._until:
            self._look()
        return self._fits

    def rest(self):
        """Don't look any more: it is known that they fit."""
        self._until, self._fits = float("inf"), True

    def forget(self):
        """Look at the next question."""
        self._until = 0.0

    def _look(self):
        try:
            said = misfit()
        except Error:
            # Whatever is asked for finds the same; nobody waits for it twice.
            self._until = time.monotonic() + AGAIN_S
            return
        if said:
            log.warning("Nothing is done meanwhile: %s", said)
        self._until, self._fits = time.monotonic() + LOOK_EVERY_S, not said


look = Look()
