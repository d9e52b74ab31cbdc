"""Takes a backup, and restores one. Nothing that is there is lost before what takes its place is whole and checked."""

import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import Error, connection
from django.db.migrations.recorder import MigrationRecorder

from orders import versions
from orders.models import Order
from production import machine, replay, trouble
from production.models import Blind, StationEvent

from . import archive, keeping, postgresql, sqlite
from .archive import Contents, Failed

HOW = {"sqlite": sqlite, "postgresql": postgresql}


@dataclass(frozen=True, kw_only=True)
class Taken:
    path: Path
    rows: int
    tables: int
    size: int
    seconds: float
    put_away: int


def take(folder, *, at):
    """Take a backup of the database and the letters that lie as files into `folder`, and put old ones away.

    Raises Failed; then every backup of before is still there.
    """
    began = time.monotonic()
    name = archive.name_of(at=at, version=machine.version(), vendor=connection.vendor)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=f".{name}.", dir=folder) as beside:
            database = Path(beside) / archive.DATABASE
            rows = HOW[connection.vendor].copy(connection, to=database)
            contents = Contents(
                at=at.isoformat(),
                version=machine.version(),
                vendor=connection.vendor,
                migrations=sorted(list(found) for found in MigrationRecorder(connection).applied_migrations()),
                rows=rows,
            )
            outbox = Path(settings.EMAIL_FILE_PATH)
            archive.write(folder / name, contents=contents, database=database, outbox=outbox)
    except Exception as error:
        raise Failed(f"No backup was made, and none was put away. {_why(error)}") from error
    put_away = keeping.put_away(
        folder, new=folder / name, days=settings.BACKUP_DAYS, weeks=settings.BACKUP_WEEKS, at=at
    )
    return Taken(
        path=folder / name,
        rows=sum(rows.values()),
        tables=len(rows),
        size=(folder / name).stat().st_size,
        seconds=time.monotonic() - began,
        put_away=put_away,
    )


def _why(error):
    if isinstance(error, Failed):
        return str(error)
    cause = error if isinstance(error, (Error, OSError)) else None
    found = trouble.of(cause) if cause else trouble.of_driver(error)
    return f"{found.what} ({error})" if found else f"{type(error).__name__}: {error}"


@dataclass(frozen=True, kw_only=True)
class Restored:
    contents: Contents
    orders: int
    blinds: int
    events: int
    newest: object
    letters: int


def restore(path, *, replace=None):
    """Put what the backup at `path` holds into the database, bring it up to this version, and check it.

    The database must be empty, or `replace()` is called before anything is changed: it takes a backup of what there is.
    Raises Failed; where that is before anything was changed, the message says so.
    """
    contents = archive.check(path, expected=archive.read_sum(path))
    _require_fits(path, contents)
    if _has_data():
        if replace is None:
            raise Failed(
                f"The database holds {_held()} already, and nothing was changed. Give an empty one in DATABASE_URL, or "
                "say --replace: then a backup of it is taken first."
            )
        replace()
    with tempfile.TemporaryDirectory(prefix="railwright-restore.") as beside:
        database = Path(beside) / archive.DATABASE
        try:
            archive.take_out(path, to=database)
            HOW[connection.vendor].put_back(connection, file=database)
        except Exception as error:
            raise Failed(f"Nothing was changed: {_why(error)}") from error
    call_command("migrate", verbosity=0, interactive=False)
    letters = archive.take_out_letters(path, to=Path(settings.EMAIL_FILE_PATH))
    _require_whole(contents)
    newest = StationEvent.objects.order_by("-pk").first()
    return Restored(
        contents=contents,
        orders=Order.objects.count(),
        blinds=Blind.objects.count(),
        events=StationEvent.objects.count(),
        newest=newest.at if newest else None,
        letters=letters,
    )


def _require_fits(path, contents):
    if contents.vendor != connection.vendor:
        raise Failed(
            f"{path.name} is of a {contents.vendor} database, and DATABASE_URL names a {connection.vendor} one. "
            "Restore it into one of its own kind. Nothing was changed."
        )
    known = versions.known_migrations()
    ours = {app for app, _ in known}
    beyond = [f"{app} {name}" for app, name in contents.migrations if app in ours and (app, name) not in known]
    if beyond:
        raise Failed(
            f"{path.name} is of version {contents.version}, which is newer than this one, {machine.version()}: it has "
            f"{beyond[0]}. Restore it with that version or a later one. Nothing was changed."
        )


def _has_data():
    return any(model.objects.exists() for model in _there())


def _held():
    return ", ".join(f"{model.objects.count()} {model._meta.verbose_name_plural}" for model in _there())


def _there():
    tables = connection.introspection.table_names()
    models = (Order, Blind, StationEvent, Order._meta.get_field("entered_by").related_model)
    return [model for model in models if model._meta.db_table in tables]


def _require_whole(contents):
    """Whatever migrations have added: no row that the backup had is missing, and each blind stands as its log says."""
    with connection.cursor() as cursor:
        for model in (Order, Blind, StationEvent):
            table = model._meta.db_table
            cursor.execute(f'SELECT count(*) FROM "{table}"')  # noqa: S608 - a table of our own
            (found,) = cursor.fetchone()
            if found != contents.rows.get(table):
                raise Failed(f"{table} has {found} rows, and the backup had {contents.rows.get(table)}. Restore again.")
    for blind, difference in replay.differing():
        raise Failed(
            f"Restored, but blind {blind.number} does not stand as its log says: {difference}. It was so when the "
            "backup was taken. Keep this backup, and send these words to whoever looks after the program."
        )
