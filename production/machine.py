"""What the server stands on: its disk, its database, and which version it is."""

import re
import shutil
import tempfile
import time
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from django.conf import settings
from django.db import connection
from django.utils import timezone

LEAST_FREE_SHARE = 0.1
LEAST_FREE_BYTES = 1_000_000_000
"""Less than a tenth of the disk or than 1 GB free is told to the owner."""
NO_ROOM_BYTES = 50_000_000
"""With less than 50 MB free nothing is certain to be written any more."""

STARTED_AT = timezone.now()
"""When this process began to serve."""


@dataclass(frozen=True, kw_only=True)
class Disk:
    free: int
    total: int

    def __str__(self):
        return f"{self.free / 1e9:.1f} GB of {self.total / 1e9:.0f} GB"

    @property
    def is_low(self):
        return self.free < LEAST_FREE_BYTES or self.free < LEAST_FREE_SHARE * self.total

    @property
    def is_full(self):
        return self.free < NO_ROOM_BYTES


def folder():
    """Where this server writes: beside its database, or beside its code where the database is elsewhere."""
    if connection.vendor == "sqlite":
        return Path(connection.settings_dict["NAME"]).resolve().parent
    return Path(settings.BASE_DIR)


def disk():
    """Bytes free to this user, and in all, on the disk that `folder` is on."""
    found = shutil.disk_usage(folder())
    return Disk(free=found.free, total=found.total)


def may_write():
    """Why nothing can be written into `folder`, or None. PostgreSQL writes on its own disk, and is asked itself."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SHOW transaction_read_only")
            return "the database takes no changes" if cursor.fetchone()[0] == "on" else None
    try:
        with tempfile.TemporaryFile(dir=folder()) as written:
            written.write(b"x")
            written.flush()
    except OSError as error:
        return error.strerror
    return None


def database_ms():
    """How long the database takes to answer the least question, in milliseconds."""
    began = time.perf_counter()
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
        cursor.fetchone()
    return (time.perf_counter() - began) * 1000


def database_bytes():
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SELECT pg_database_size(current_database())")
        else:
            cursor.execute("SELECT page_count * page_size FROM pragma_page_count(), pragma_page_size()")
        return cursor.fetchone()[0]


@cache
def version():
    """The first version heading of CHANGELOG.md, such as '0.1.0'."""
    text = (settings.BASE_DIR / "CHANGELOG.md").read_text(encoding="utf-8")
    return re.search(r"^## (\S+)", text, re.MULTILINE).group(1)
