"""A workshop of an older version is brought up to this one by script/upgrade, which takes a backup first.

The older version is the real one, from this repository's own history, and fills its database itself.
"""

import os
import sqlite3
import subprocess
import sys
import uuid
from contextlib import closing

import psycopg
import pytest
from django.conf import settings as workshop
from django.db import connection
from psycopg import sql

from production.backup import archive, keeping
from tests.live_stream import database_url

pytestmark = pytest.mark.django_db(transaction=True)
OLDER = "2d7300b3ef5795ad13e686f5c6832b63faf73bd1"
"""Before there was an audit, sessions of ours or work in the background."""
TABLES = ("orders_order", "orders_orderline", "production_blind", "production_stationevent")


@pytest.fixture
def given(tmp_path):
    """The settings of a workshop with an empty database."""
    settings = {"BACKUPS": str(tmp_path / "backups"), "OUTBOX": str(tmp_path / "outbox"), "SECRET_KEY": "s" * 50}
    if connection.vendor == "sqlite":
        yield os.environ | settings | {"DATABASE_URL": f"sqlite:///{tmp_path / 'older.sqlite3'}"}
        return
    name = f"{connection.settings_dict['NAME']}_{uuid.uuid4().hex[:8]}"
    with psycopg.connect(**connection.get_connection_params(), autocommit=True) as own:
        own.execute(sql.SQL("CREATE DATABASE {}").format(sql.Identifier(name)))
        yield os.environ | settings | {"DATABASE_URL": database_url().replace(connection.settings_dict["NAME"], name)}
        own.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(sql.Identifier(name)))


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


@pytest.fixture
def empty_workshop(older, given):
    """The older version's tables, with nothing in them."""
    done = run(sys.executable, "manage.py", "migrate", "-v0", env=given, cwd=older)
    assert done.returncode == 0, done.stderr


@pytest.fixture
def at_work(older, given, empty_workshop):
    """The older version's workshop, with some forty blinds on their way."""
    done = run(sys.executable, "manage.py", "seed_demo", "--blinds", "40", env=given, cwd=older)
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


@pytest.mark.usefixtures("empty_workshop")
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


@pytest.mark.usefixtures("empty_workshop")
def test_an_upgrade_without_room_for_a_backup_changes_nothing(older, given, tmp_path):
    (tmp_path / "backups").write_text("a file where the folder should be")
    before = ask(given, "SELECT app, name FROM django_migrations ORDER BY id")
    done = upgrade(given)
    assert done.returncode == 1
    assert "Without a backup nothing is changed." in done.stderr
    assert ask(given, "SELECT app, name FROM django_migrations ORDER BY id") == before
    assert fits(older, given)
