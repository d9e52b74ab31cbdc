"""A database that fails: its disk is full, it is held, or it ends a connection; and what is sent to it meanwhile.

The errors are the database's own: SQLite's from a file that may not grow or is held; PostgreSQL's from a server that
ends a connection, and its "disk full" (53100) from a trigger that raises it, since a server's disk can't be filled for
one test.
"""

import threading
import uuid

from django.db import OperationalError, connection, connections, transaction
from django.urls import reverse

from production import route
from production.models import Blind, Stage, StationEvent
from production.route import RAILING
from tests.tablets import maker_of


def no_room():
    """Context: nothing more fits on the disk."""
    return _NoRoomOnSqlite() if connection.vendor == "sqlite" else _NoRoomOnPostgresql()


class _NoRoomOnSqlite:
    """The file may have no page more than it has, as on a full disk: the same code, SQLITE_FULL."""

    def __enter__(self):
        with connection.cursor() as cursor:
            cursor.execute("CREATE TABLE IF NOT EXISTS fills_the_free_pages (x)")
            [(pages,)] = cursor.execute("PRAGMA page_count").fetchall()
            cursor.execute(f"PRAGMA max_page_count = {pages}")
            try:
                while True:
                    cursor.execute("INSERT INTO fills_the_free_pages VALUES (zeroblob(3000))")
            except OperationalError:
                pass

    def __exit__(self, *_):
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA max_page_count = 1073741823")
            cursor.execute("DROP TABLE fills_the_free_pages")


class _NoRoomOnPostgresql:
    def __enter__(self):
        with connection.cursor() as cursor:
            cursor.execute(
                "CREATE FUNCTION no_room() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
                "RAISE EXCEPTION 'could not extend file: No space left on device' USING ERRCODE = '53100'; END $$"
            )
            cursor.execute(
                "CREATE TRIGGER no_room BEFORE INSERT ON production_stationevent "
                "FOR EACH ROW EXECUTE FUNCTION no_room()"
            )

    def __exit__(self, *_):
        with connection.cursor() as cursor:
            cursor.execute("DROP TRIGGER no_room ON production_stationevent; DROP FUNCTION no_room()")


def press(tablet, blind):
    """Function that starts railing by one and the same event, however often it is sent."""
    url = reverse("station-record", args=[RAILING, blind.code])
    fields = {"event_id": uuid.uuid4(), "maker": maker_of(tablet), "kind": route.START}
    return lambda: tablet.post(url, fields, headers={"accept": "text/html"})


def starts(blind):
    return StationEvent.objects.filter(blind=blind, kind=route.START).count()


def railing_is(blind):
    return Stage.objects.get(blind=blind, station=RAILING).state


class held:
    """Another connection writes and doesn't end; ours waits a tenth of a second for it."""

    def __enter__(self):
        with connection.cursor() as cursor:
            short = "PRAGMA busy_timeout = 100" if connection.vendor == "sqlite" else "SET lock_timeout = '100ms'"
            cursor.execute(short)
        self._begun, self._over = threading.Event(), threading.Event()
        self._thread = threading.Thread(target=self._hold)
        self._thread.start()
        self._begun.wait(10)

    def _hold(self):
        with transaction.atomic():
            Blind.objects.update(version=1_000)
            self._begun.set()
            self._over.wait(10)
            transaction.set_rollback(True)
        connections.close_all()

    def __exit__(self, *_):
        self._over.set()
        self._thread.join()
        connection.close()


class cut:
    """The database ends our connection at that moment. On SQLite, which has none to lose, psycopg's error is raised."""

    def __init__(self, at, monkeypatch):
        self.at, self.patch, self.is_done = at, monkeypatch, False

    def __enter__(self):
        wrapped = {"the first question": "SELECT", "the event": 'INSERT INTO "production_stationevent"'}.get(self.at)
        self.context = connection.execute_wrapper(self._before(wrapped)) if wrapped else None
        if self.context:
            self.context.__enter__()
        else:
            self.patch.setattr(
                type(connections["default"]), "_commit", self._commit(type(connections["default"])._commit)
            )

    def _before(self, sql_begins):
        def wrapper(execute, sql, params, many, context):
            if not self.is_done and sql.startswith(sql_begins):
                self.is_done = True
                end_connection()
            return execute(sql, params, many, context)

        return wrapper

    def _commit(self, really):
        def commit(wrapper):
            is_the_one = StationEvent.objects.filter(kind=route.START).exists() and not self.is_done
            really(wrapper)
            if is_the_one:
                self.is_done = True
                end_connection()
                wrapper.cursor().execute("SELECT 1")

        return commit

    def __exit__(self, *_):
        if self.context:
            self.context.__exit__(None, None, None)
        else:
            self.patch.undo()
        # As the end of a request does; the test's client leaves it be.
        connection.close_if_unusable_or_obsolete()
        assert self.is_done


def end_connection():
    if connection.vendor == "sqlite":
        import psycopg

        raise OperationalError("server closed the connection") from psycopg.OperationalError("server closed")
    pid = connection.connection.info.backend_pid

    def end():
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_terminate_backend(%s, 5000)", [pid])
        connections.close_all()

    ending = threading.Thread(target=end)
    ending.start()
    ending.join()
