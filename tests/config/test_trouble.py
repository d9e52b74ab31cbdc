"""While the server can't work everybody is told why, nothing is recorded by half, and what is sent again counts once.

The errors are the database's own: SQLite's from a file that may not grow, is held, is read-only or is no database;
PostgreSQL's from a server that ends a connection, and its "disk full" (53100) from a trigger that raises it, since a
server's disk can't be filled for one test.
"""

import json
import os
import re
import threading
import uuid
from urllib.parse import unquote

import pytest
from django.conf import settings as workshop
from django.db import Error, OperationalError, connection, connections, transaction
from django.test import Client
from django.urls import reverse

from config.trouble import answer as said_of
from orders import versions
from production import route, trouble
from production.models import Blind, Stage, StationEvent
from production.route import RAILING
from tests import factories
from tests.tablets import maker_of

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def tablet():
    """A tablet that a maker is signed in on, who was told of no mistake of ours."""
    found = Client(raise_request_exception=False)
    found.force_login(factories.person("maker"))
    return found


@pytest.fixture
def blind():
    return factories.released()[0]


@pytest.fixture
def no_room():
    """Context: nothing more fits on the disk."""
    return _no_room_on_sqlite if connection.vendor == "sqlite" else _no_room_on_postgresql


class _no_room_on_sqlite:
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


class _no_room_on_postgresql:
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


# What the database says


def test_a_full_disk_is_said_with_nothing_written_and_the_same_event_counts_once_there_is_room(tablet, blind, no_room):
    send = press(tablet, blind)
    with no_room():
        answer = send()
        assert (answer.status_code, answer["Retry-After"]) == (503, "30")
        assert "The server&#x27;s disk is full." in answer.content.decode()
        assert (starts(blind), railing_is(blind)) == (0, "waiting")
    assert send().status_code == 302
    assert send().status_code == 302
    assert (starts(blind), railing_is(blind)) == (1, "in_hand")


def test_what_was_recorded_before_is_shown_while_the_disk_is_full(tablet, blind, no_room):
    with no_room():
        assert tablet.get(reverse("station", args=[RAILING])).status_code == 200


def test_a_database_that_is_held_for_longer_than_anybody_waits_is_busy(tablet, blind):
    send = press(tablet, blind)
    with _held():
        answer = send()
    assert (answer.status_code, answer["Retry-After"]) == (503, "1")
    assert "busy with something else" in answer.content.decode()
    assert starts(blind) == 0
    assert send().status_code == 302
    assert starts(blind) == 1


class _held:
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


@pytest.mark.parametrize("at", ["the first question", "the event", "the commit"])
def test_a_connection_that_is_lost_is_said_and_the_same_event_counts_once(tablet, blind, monkeypatch, at):
    """At the commit: lost before its answer has come, when it may have happened or not. Here it has."""
    send = press(tablet, blind)
    with cut(at, monkeypatch):
        answer = send()
    assert (answer.status_code, answer["Retry-After"]) == (503, "5")
    page = answer.content.decode()
    assert "The database doesn&#x27;t answer." in page
    assert starts(blind) == (1 if at == "the commit" else 0)
    assert send().status_code == 302
    assert (starts(blind), railing_is(blind)) == (1, "in_hand")


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


def told(act):
    """The trouble that the database's own error tells of."""
    with pytest.raises(Error) as raised:
        act()
    return trouble.of(raised.value)


@pytest.fixture
def other_file(tmp_path):
    """A database of its own that SQLite is asked by Django's own wrapper."""
    from django.db.backends.sqlite3.base import DatabaseWrapper

    def opened(path=tmp_path / "own.sqlite3"):
        return DatabaseWrapper({**connections.databases["default"], "NAME": str(path), "OPTIONS": {}}, alias="own")

    return opened


def ask(wrapper, sql):
    with wrapper.cursor() as cursor:
        cursor.execute(sql)
        return cursor.fetchall()


@pytest.mark.skipif(workshop.DATABASES["default"]["ENGINE"] != "django.db.backends.sqlite3", reason="SQLite's own")
class TestSqlite:
    def test_a_file_that_takes_no_changes(self, other_file):
        own = other_file()
        ask(own, "CREATE TABLE kept (x)")
        ask(own, "PRAGMA query_only = 1")
        assert told(lambda: ask(own, "INSERT INTO kept VALUES (1)")) is trouble.UNWRITABLE

    def test_a_file_that_can_not_be_opened(self, other_file, tmp_path):
        assert told(lambda: ask(other_file(tmp_path / "nowhere" / "own.sqlite3"), "SELECT 1")) is trouble.UNWRITABLE

    def test_a_file_that_is_no_database(self, other_file, tmp_path):
        (tmp_path / "own.sqlite3").write_bytes(b"an order for two blinds\n" * 400)
        assert told(lambda: ask(other_file(), "SELECT * FROM sqlite_master")) is trouble.DAMAGED

    def test_a_file_with_a_torn_page(self, other_file, tmp_path):
        own = other_file()
        ask(own, "CREATE TABLE kept (x)")
        ask(own, "INSERT INTO kept VALUES (zeroblob(100000))")
        own.close()
        with open(tmp_path / "own.sqlite3", "r+b") as file:
            file.seek(4096)
            file.write(b"\xff" * 4096)
        assert told(lambda: ask(other_file(), "SELECT * FROM kept")) is trouble.DAMAGED

    def test_a_file_that_may_not_grow(self, other_file):
        own = other_file()
        ask(own, "PRAGMA max_page_count = 2")
        ask(own, "CREATE TABLE kept (x)")
        assert told(lambda: ask(own, "INSERT INTO kept VALUES (zeroblob(100000))")) is trouble.FULL


@pytest.mark.skipif(workshop.DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3", reason="PostgreSQL's own")
class TestPostgresql:
    def test_a_server_that_is_not_there(self, tmp_path):
        from django.db.backends.postgresql.base import DatabaseWrapper

        gone = {**connections.databases["default"], "HOST": str(tmp_path), "OPTIONS": {}}
        assert told(lambda: ask(DatabaseWrapper(gone, alias="gone"), "SELECT 1")) is trouble.LOST

    def test_a_server_that_takes_no_changes(self):
        def write():
            with transaction.atomic(), connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION READ ONLY")
                cursor.execute("DELETE FROM orders_order")

        assert told(write) is trouble.UNWRITABLE

    @pytest.mark.parametrize(
        ("code", "found"),
        [
            *[(code, trouble.BUSY) for code in ("40P01", "40001", "55P03", "57014", "53200", "53300")],
            *[(code, trouble.LOST) for code in ("08006", "57P01", "57P02", "57P03")],
            *[(code, trouble.UNWRITABLE) for code in ("25006", "58030", "58P01")],
            ("53100", trouble.FULL),
            ("XX001", trouble.DAMAGED),
        ],
    )
    def test_each_of_its_codes(self, code, found):
        assert told(lambda: ask(connection, f"DO $$ BEGIN RAISE SQLSTATE '{code}'; END $$")) is found


@pytest.mark.parametrize("error", [KeyError("x"), OperationalError("of our own making"), OSError(2, "no such file")])
def test_a_mistake_of_ours_is_no_trouble(error):
    assert trouble.of(error) is None


@pytest.mark.parametrize(
    ("number", "found"), [(28, trouble.FULL), (122, trouble.FULL), (27, trouble.FULL), (30, trouble.UNWRITABLE)]
)
def test_what_the_system_says_of_a_file(number, found):
    assert trouble.of(OSError(number, os.strerror(number))) is found


# What is answered


@pytest.fixture
def gone(monkeypatch):
    """From now on nothing is asked of the database that it would answer."""

    def refuse(self, *args, **kwargs):
        import psycopg

        raise OperationalError("connection refused") from psycopg.OperationalError("connection refused")

    def now():
        monkeypatch.setattr(type(connections["default"]), "_cursor", refuse)

    return now


def test_a_page_says_that_it_tries_again_and_does(tablet, gone):
    gone()
    answer = tablet.get("/orders/", headers={"accept": "text/html"})
    page = answer.content.decode()
    assert answer.status_code == 503
    assert '<meta http-equiv="refresh" content="5">' in page
    assert "This page tries again by itself." in page
    assert '<html lang="en-gb">' in page
    assert answer["Cache-Control"] == "no-store"


def test_of_a_damaged_database_no_page_says_that_anything_in_it_is_safe(rf):
    request = rf.get("/orders/", headers={"accept": "text/html"})
    said = {found: said_of(request, found).content.decode() for found in (trouble.DAMAGED, trouble.FULL)}
    assert "it may have to be restored from a backup" in said[trouble.DAMAGED]
    assert "is safe" not in said[trouble.DAMAGED]
    assert "What was saved before is safe." in said[trouble.FULL]


def test_a_form_is_kept_on_the_page_and_sent_again_as_it_was(tablet, gone):
    gone()
    sent = {"customer": "7", "note": 'says "left" & <right>', "form_id": "f-1", "line": ["a", "b"]}
    answer = tablet.post("/orders/new/", sent, headers={"accept": "text/html"})
    page = answer.content.decode()
    assert answer.status_code == 503
    assert "http-equiv" not in page
    assert "What you just sent was not recorded." in page
    kept = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)">', page)
    assert kept == [
        ("customer", "7"),
        ("note", "says &quot;left&quot; &amp; &lt;right&gt;"),
        ("form_id", "f-1"),
        ("line", "a"),
        ("line", "b"),
    ]


def test_once_something_was_asked_nobody_is_promised_that_nothing_was_recorded(tablet, blind, no_room):
    send = press(tablet, blind)
    with no_room():
        page = send().content.decode()
    assert "most likely not recorded" in page
    assert "What you just sent was not recorded." not in page


@pytest.mark.parametrize("name", ["password", "new_password1", "pin", "new_pin"])
def test_no_password_or_pin_is_written_into_a_page(tablet, gone, name):
    gone()
    answer = tablet.post("/sign-in/", {"username": "nora", name: "correct horse"}, headers={"accept": "text/html"})
    assert answer.status_code == 503
    assert "correct horse" not in answer.content.decode()
    assert "Go back, and send it again in a while." in answer.content.decode()


def test_a_page_that_asks_by_itself_is_given_words_and_no_page(tablet, gone):
    gone()
    answer = tablet.get("/stations/railing/", headers={"HX-Request": "true"})
    words = f"{trouble.LOST.what} {trouble.LOST.do}"
    assert (answer.status_code, answer.content.decode()) == (503, words)
    assert unquote(answer["X-Trouble"]) == words
    assert answer["X-Trouble"].isascii()


def test_a_station_is_told_in_its_own_language_and_the_office_in_english(tablet, gone):
    tablet.cookies[workshop.LANGUAGE_COOKIE_NAME] = "es"
    gone()
    page = tablet.get("/stations/railing/", headers={"accept": "text/html"}).content.decode()
    assert '<html lang="es">' in page
    assert "doesn" not in page
    assert "Railwright" in page
    assert '<html lang="en-gb">' in tablet.get("/orders/", headers={"accept": "text/html"}).content.decode()


def test_another_program_is_told_in_json(tablet, gone):
    gone()
    for path in ("/api/v1/orders", "/api/v1/figures"):
        answer = tablet.get(path, headers={"Authorization": "Bearer made-up"})
        assert (answer.status_code, answer["Retry-After"]) == (503, "5")
        assert answer["Content-Type"] == "application/problem+json"
        assert json.loads(answer.content)["detail"] == "The database doesn't answer. Send the same again after 5 s."


def test_a_mistake_of_ours_is_still_the_page_for_mistakes(settings):
    settings.ROOT_URLCONF = "tests.config.breaking"
    answer = Client(raise_request_exception=False).get("/breaks/")
    assert answer.status_code == 500
    assert "Retry-After" not in answer


# Two versions


@pytest.fixture
def looking():
    """The look whether database and program fit, as it is outside the tests."""
    versions.look.forget()
    yield
    versions.look.rest()


def newer(name="9999_of_next_year"):
    with connection.cursor() as cursor:
        cursor.execute(
            "INSERT INTO django_migrations (app, name, applied) VALUES ('production', %s, CURRENT_TIMESTAMP)", [name]
        )


def as_before(name="9999_of_next_year"):
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM django_migrations WHERE name = %s", [name])


@pytest.mark.usefixtures("looking")
def test_an_older_program_answers_and_writes_nothing_once_the_database_is_newer(tablet, blind, monkeypatch):
    clock, send = [1000.0], press(tablet, blind)
    monkeypatch.setattr(versions.time, "monotonic", lambda: clock[0])
    page = reverse("station", args=[RAILING])
    assert tablet.get(page).status_code == 200
    newer()
    try:
        clock[0] += versions.LOOK_EVERY_S
        answer = send()
        assert (answer.status_code, answer["Retry-After"]) == (503, "10")
        assert "Railwright is being upgraded." in answer.content.decode()
        assert "What you just sent was not recorded." in answer.content.decode()
        assert tablet.get(page).status_code == 503
        # Or the page that says so is without its look.
        style = tablet.get("/static/css/base.css")
        style.close()
        assert style.status_code == 200
        assert "default-src 'none'" in answer["Content-Security-Policy"]
        assert starts(blind) == 0
    finally:
        as_before()
    clock[0] += versions.LOOK_EVERY_S
    assert send().status_code == 302
    assert starts(blind) == 1


@pytest.mark.usefixtures("looking")
def test_a_newer_program_waits_for_its_migrations(client):
    with connection.cursor() as cursor:
        cursor.execute("UPDATE django_migrations SET name = 'was' WHERE app = 'orders' AND name LIKE '0016%%'")
    try:
        assert client.get("/sign-in/").status_code == 503
        assert client.get("/health/").status_code == 200
        assert client.get("/api/v1/catalogue").json()["detail"].startswith("Railwright is being upgraded.")
    finally:
        name = next(name for app, name in versions.known_migrations() if app == "orders" and name.startswith("0016"))
        with connection.cursor() as cursor:
            cursor.execute("UPDATE django_migrations SET name = %s WHERE name = 'was'", [name])


@pytest.mark.usefixtures("looking")
def test_it_is_looked_at_once_in_ten_seconds_with_two_queries(client, django_assert_num_queries):
    with django_assert_num_queries(2):
        assert versions.look.fits()
    with django_assert_num_queries(0):
        assert all(versions.look.fits() for _ in range(1000))
