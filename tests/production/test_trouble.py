"""What the errors of the database and of the system tell of, raised by files that are read-only, torn or full, and by a
server that is not there."""

import os

import pytest
from django.conf import settings as workshop
from django.db import Error, OperationalError, connection, connections, transaction

from production import trouble

pytestmark = pytest.mark.django_db(transaction=True)


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
