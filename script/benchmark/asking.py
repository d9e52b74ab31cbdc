"""One request over a connection of its own, and the floor's own server."""

import asyncio
import json
import os
import subprocess
import sys
from contextlib import contextmanager

from script.benchmark import serving

BARE = "script.benchmark.bare"


async def request(port, line, *, cookie, form="", **headers):
    """(status, body) of one request."""
    headers |= {"Host": "localhost", "Connection": "close", "Cookie": cookie}
    if form:
        headers |= {"Content-Type": "application/x-www-form-urlencoded", "Content-Length": str(len(form))}
    lines = [f"{line} HTTP/1.1", *(f"{name}: {value}" for name, value in headers.items()), "", form]
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    writer.write("\r\n".join(lines).encode())
    head, _, body = (await reader.read()).partition(b"\r\n\r\n")
    writer.close()
    return int(head.split()[1]), body.decode()


@contextmanager
def floor(url, folder, *, pages=None, people, things=0):
    """The floor, serving `pages` (name: (template, rows)): its port, and {"cookies", "things"} of what is in it.

    Its database is another of the same kind as ours at `url`, in `folder`.
    """
    templates = folder / "templates"
    templates.mkdir()
    folder.chmod(0o755)
    for name, (template, _rows) in (pages or {}).items():
        (templates / f"{name}.html").write_text(template, encoding="utf-8")
    wanted = {"pages": {name: rows for name, (_, rows) in (pages or {}).items()}, "people": people, "things": things}
    told = folder / "floor.json"
    told.write_text(json.dumps(wanted), encoding="utf-8")
    own = {
        "BARE_DATABASE_URL": _beside(url, folder),
        "BARE_TEMPLATES": str(templates),
        "DJANGO_SETTINGS_MODULE": f"{BARE}.settings",
    }
    filled = subprocess.run(  # noqa: S603
        [sys.executable, "-m", f"{BARE}.fill", str(told)],
        cwd=serving.ROOT,
        env={**os.environ, **own},
        check=True,
        capture_output=True,
        text=True,
    )
    with serving.pages(f"{BARE}.wsgi", own=False, **own) as (port, _):
        yield port, json.loads(filled.stdout)


def _beside(url, folder):
    """The URL of an empty database of the same kind as `url`."""
    if url.startswith("sqlite"):
        return f"sqlite:///{folder}/floor.sqlite3"
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute("CREATE DATABASE floor")
    return url.replace("/postgres?", "/floor?")
