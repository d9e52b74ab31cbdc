"""A workshop of an older version is brought up to this one by script/upgrade, which takes a backup first.

The older version is the real one, from this repository's own history, and fills its database itself.
"""

import os
import shutil
import sqlite3
import subprocess
import sys
import uuid
from contextlib import closing, contextmanager
from urllib.parse import urlsplit

import psycopg
import pytest
from django.conf import settings as workshop
from django.db import connection
from psycopg import sql

from production.backup import archive, keeping
from tests.live_stream import database_url

pytestmark = pytest.mark.django_db
OLDER = "2d7300b3ef5795ad13e686f5c6832b63faf73bd1"
"""Before there was an audit, sessions of ours or work in the background."""
KEYS = {"SECRET_KEY": "s" * 50}
QUICK = """from config.settings import *
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
"""
"""Settings with which passwords and PINs that nobody types cost no time."""
TABLES = ("orders_order", "orders_orderline", "production_blind", "production_stationevent")


class Sqlite:
    """A database is a file, and a copy of it another one."""

    def __init__(self, folder):
        self._folder = folder

    @contextmanager
    def made(self, *, like=None):
        path = self._folder / f"{uuid.uuid4().hex}.sqlite3"
        if like:
            shutil.copy(like.removeprefix("sqlite:///"), path)
        yield f"sqlite:///{path}"


class Postgresql:
    def __init__(self):
        self._own = connection.settings_dict["NAME"]

    @contextmanager
    def made(self, *, like=None):
        name = f"{self._own}_{uuid.uuid4().hex[:8]}"
        template = "template1" if like is None else urlsplit(like).path[1:]
        words = [sql.Identifier(name), sql.Identifier(template)]
        with psycopg.connect(**connection.get_connection_params(), autocommit=True) as asked:
            asked.execute(sql.SQL("CREATE DATABASE {} TEMPLATE {}").format(*words))
            try:
                yield database_url().replace(self._own, name)
            finally:
                asked.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(words[0]))


@pytest.fixture(scope="module")
def databases(tmp_path_factory, django_db_setup):
    """Makes databases of their own, empty or like another, for as long as the block lasts."""
    return Sqlite(tmp_path_factory.mktemp("databases")) if connection.vendor == "sqlite" else Postgresql()


@pytest.fixture(scope="module")
def older(tmp_path_factory):
    """The older version's program."""
    folder = tmp_path_factory.mktemp("older") / "railwright"
    history = "git", "-c", "safe.directory=*"
    cloned = run(*history, "clone", "-q", "--shared", "--no-checkout", str(workshop.BASE_DIR), str(folder))
    assert cloned.returncode == 0, cloned.stderr
    taken = run(*history, "-C", str(folder), "checkout", "-q", OLDER)
    assert taken.returncode == 0, f"this copy of the repository lacks the history that the test needs: {taken.stderr}"
    return folder


@pytest.fixture(scope="module")
def older_tables(older, databases):
    """The address of a database with the older version's tables and nothing in them, which each test has a copy of."""
    with databases.made() as url:
        given = os.environ | KEYS | {"DATABASE_URL": url}
        done = run(sys.executable, "manage.py", "migrate", "-v0", env=given, cwd=older)
        assert done.returncode == 0, done.stderr
        yield url


@pytest.fixture
def given(databases, older_tables, tmp_path):
    """The settings of a workshop of the older version, in which nothing has happened yet."""
    folders = {"BACKUPS": str(tmp_path / "backups"), "OUTBOX": str(tmp_path / "outbox")}
    with databases.made(like=older_tables) as url:
        yield os.environ | KEYS | folders | {"DATABASE_URL": url}


@pytest.fixture
def at_work(older, given):
    """The older version's workshop, with some blinds on their way."""
    (older / "quick.py").write_text(QUICK)
    quickly = given | {"DJANGO_SETTINGS_MODULE": "quick"}
    done = run(sys.executable, "manage.py", "seed_demo", "--blinds", "40", env=quickly, cwd=older)
    assert done.returncode == 0, done.stderr


def run(*words, env=None, cwd=workshop.BASE_DIR):
    return subprocess.run(words, env=env, cwd=cwd, capture_output=True, text=True, check=False)


def upgrade(given):
    return run("sh", "script/upgrade", env=given)


def ask(given, question):
    """What the database answers, by its own driver."""
    url = given["DATABASE_URL"]
    if url.startswith("sqlite"):
        with closing(sqlite3.connect(url.removeprefix("sqlite:///"))) as opened:
            return opened.execute(question).fetchall()
    with psycopg.connect(url.replace("postgres:", "postgresql:")) as opened:
        asked = opened.execute(question)
        return asked.fetchall() if asked.description else []


def counts(given):
    return [ask(given, f"SELECT count(*) FROM {table}")[0][0] for table in TABLES]  # noqa: S608


def fits(program, given):
    """Whether the database lacks nothing of this program's version."""
    return run(sys.executable, "manage.py", "migrate", "--check", env=given, cwd=program).returncode == 0


@pytest.mark.usefixtures("at_work")
def test_an_older_workshop_is_backed_up_and_brought_up_to_this_version(given, tmp_path):
    before = counts(given)
    assert min(before) > 10
    done = upgrade(given)
    assert done.returncode == 0, done.stderr
    [backup] = keeping.backups(tmp_path / "backups")
    assert f"\n{backup}\n" in done.stdout
    contents = archive.check(backup, expected=archive.read_sum(backup))
    assert max(name for app, name in contents.migrations if app == "orders").startswith("0018")
    assert counts(given) == before
    assert fits(workshop.BASE_DIR, given)
    # What was of the older version is restored into this one, and every blind stands as its log says.
    back = run(sys.executable, "manage.py", "restore", str(backup), "--replace", env=given)
    assert back.returncode == 0, back.stderr
    assert "Each blind stands as its log says." in back.stdout
    assert counts(given) == before
    # There is nothing left to do.
    again = upgrade(given)
    assert again.returncode == 0
    assert "The database is of this version already." in again.stdout


def test_an_upgrade_that_fails_says_how_to_go_back_and_what_it_kept_is_of_before(older, given, tmp_path):
    # In the way of a table that this version brings.
    ask(given, "CREATE TABLE orders_auditentry (id integer)")
    done = upgrade(given)
    assert done.returncode == 1
    [backup] = keeping.backups(tmp_path / "backups")
    assert f"restore {backup} --replace" in done.stderr
    assert "Nothing is lost." in done.stderr
    # What the program of before would put back fits it.
    contents = archive.check(backup, expected=archive.read_sum(backup))
    assert fits(older, given)
    assert contents.rows["orders_auditentry"] == 0
    assert "orders_session" not in contents.rows


def test_an_upgrade_without_room_for_a_backup_changes_nothing(older, given, tmp_path):
    (tmp_path / "backups").write_text("a file where the folder should be")
    before = ask(given, "SELECT app, name FROM django_migrations ORDER BY id")
    done = upgrade(given)
    assert done.returncode == 1
    assert "Without a backup nothing is changed." in done.stderr
    assert ask(given, "SELECT app, name FROM django_migrations ORDER BY id") == before
    assert fits(older, given)
