"""A backup is taken while others write, is whole or is none, and gives back every row of every table.

Restoring is tried into a database of its own by `manage.py restore`, as an owner would, and each table is compared with
what the database's own driver reads.
"""

import datetime as dt
import hashlib
import json
import os
import resource
import sqlite3
import subprocess
import sys
import tarfile
import threading
import uuid
from contextlib import closing
from pathlib import Path

import psycopg
import pytest
from django.conf import settings as workshop
from django.db import connection, connections
from django.utils import timezone
from psycopg import sql

from orders import versions
from production import machine, replay, route
from production.backup import archive, keeping, postgresql, taking
from production.models import Stage, StationEvent
from production.record import record
from tests import factories
from tests.live_stream import database_url

pytestmark = pytest.mark.django_db(transaction=True)
AT = dt.datetime(2026, 3, 4, 2, 15, tzinfo=dt.UTC)


@pytest.fixture
def outbox(settings, tmp_path):
    """Where letters lie as files, with one in it."""
    folder = tmp_path / "outbox"
    folder.mkdir()
    (folder / "20260304-1.log").write_text("Your order is on its way.")
    settings.EMAIL_FILE_PATH = folder
    return folder


@pytest.fixture
def folder(tmp_path, outbox):
    """Where backups are written."""
    return tmp_path / "backups"


@pytest.fixture
def empty(tmp_path):
    """The URL of an empty database of the kind that the tests run on."""
    if connection.vendor == "sqlite":
        yield f"sqlite:///{tmp_path / 'empty.sqlite3'}"
        return
    name = f"{connection.settings_dict['NAME']}_{uuid.uuid4().hex[:8]}"
    with psycopg.connect(**connection.get_connection_params(), autocommit=True) as own:
        own.execute(sql.SQL("CREATE DATABASE {}").format(sql.Identifier(name)))
        yield database_url().replace(connection.settings_dict["NAME"], name)
        own.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(sql.Identifier(name)))


def manage(*words, url, tmp_path, limit=None):
    """`manage.py` with the words on the database at `url`; with `limit`, no file may grow beyond so many bytes."""

    def limited():
        if limit:
            resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))

    given = {"DATABASE_URL": url, "OUTBOX": str(tmp_path / "restored-outbox"), "BACKUPS": str(tmp_path / "backups")}
    return subprocess.run(
        [sys.executable, "manage.py", *map(str, words)],
        cwd=workshop.BASE_DIR,
        env=os.environ | given,
        capture_output=True,
        text=True,
        preexec_fn=limited,
        check=False,
    )


def all_rows(url):
    """Every row of every table, in an order of its own: {table: rows}."""
    if url.startswith("sqlite"):
        with closing(sqlite3.connect(url.removeprefix("sqlite:///"))) as opened:
            tables = [name for (name,) in opened.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
            return {name: sorted(map(repr, opened.execute(f'SELECT * FROM "{name}"'))) for name in tables}  # noqa: S608
    with psycopg.connect(url.replace("postgres:", "postgresql:")) as opened:
        tables = opened.execute("SELECT tablename FROM pg_tables WHERE schemaname = 'public'").fetchall()
        every = {name: opened.execute(sql.SQL("SELECT * FROM {}").format(sql.Identifier(name))) for (name,) in tables}
        return {name: sorted(map(repr, found.fetchall())) for name, found in every.items()}


@pytest.fixture
def made():
    """A blind that is made and packed, one that was sent back, and one that waits."""
    maker, checker = factories.person("maker"), factories.person("checker")
    packed, back, waiting = factories.released(lines=[{"quantity": 2}, {"room": "Café “Ω”"}])
    factories.make(packed, maker=maker, checker=checker)
    factories.work(back, route.RAILING, by=maker)
    return packed, back, waiting


def test_what_was_backed_up_is_given_back_row_by_row(made, folder, empty, tmp_path):
    taken = taking.take(folder, at=AT)
    assert taken.path.name == f"railwright-20260304T021500Z-{machine.version()}-{connection.vendor}.tar.gz"
    assert taken.size == taken.path.stat().st_size
    assert oct(taken.path.stat().st_mode)[-3:] == "600"
    done = manage("restore", taken.path, url=empty, tmp_path=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "1 orders, 3 blinds," in done.stdout
    assert "Each blind stands as its log says." in done.stdout
    before, after = all_rows(database_url()), all_rows(empty)
    assert set(before) == set(after)
    assert {name: rows for name, rows in before.items() if after[name] != rows} == {}
    assert sum(map(len, before.values())) > 150
    assert (tmp_path / "restored-outbox" / "20260304-1.log").read_text() == "Your order is on its way."


def test_it_is_what_sha256sum_reads(made, folder):
    path = taking.take(folder, at=AT).path
    checked = subprocess.run(["sha256sum", "--check", archive.sum_file(path).name], cwd=folder, capture_output=True)
    assert checked.returncode == 0, checked.stderr
    assert hashlib.sha256(path.read_bytes()).hexdigest() == archive.read_sum(path)


def test_it_is_of_one_moment_while_others_write(made, folder, empty, tmp_path):
    """Three tablets start, pause and resume all the while; what is restored is nobody's half."""
    stopped, recorded = threading.Event(), [0, 0, 0]

    def work(place, blind, maker):
        kinds = [route.START]
        while not stopped.is_set():
            record(
                event_id=uuid.uuid4(),
                code=blind.code,
                station=route.RAILING,
                kind=kinds[-1],
                by=maker,
                at=timezone.now(),
                data={"reason": "Break"},
            )
            recorded[place] += 1
            kinds.append(route.RESUME if kinds[-1] == route.PAUSE else route.PAUSE)
        connections.close_all()

    blinds = factories.released(lines=[{"quantity": 3}])
    workers = [
        threading.Thread(target=work, args=(place, blind, factories.person("maker")))
        for place, blind in enumerate(blinds)
    ]
    for worker in workers:
        worker.start()
    taken = [taking.take(folder, at=AT + dt.timedelta(seconds=second)) for second in range(4)]
    stopped.set()
    for worker in workers:
        worker.join()
    events = [
        archive.check(each.path, expected=archive.read_sum(each.path)).rows["production_stationevent"] for each in taken
    ]
    assert events == sorted(events)
    assert events[0] < events[-1]
    assert min(recorded) > 0
    done = manage("restore", taken[1].path, url=empty, tmp_path=tmp_path)
    assert done.returncode == 0, done.stderr
    assert len(all_rows(empty)["production_stationevent"]) == events[1]


@pytest.mark.parametrize("where", [0.0, 0.3, 0.7, 1.0])
def test_a_flipped_byte_is_refused_and_nothing_is_changed(made, folder, where):
    path = taking.take(folder, at=AT).path
    whole = bytearray(path.read_bytes())
    whole[int(where * (len(whole) - 1))] ^= 1
    path.write_bytes(whole)
    before = all_rows(database_url())
    with pytest.raises(archive.Failed, match="is not what was written"):
        taking.restore(path, replace=lambda: pytest.fail("it was about to be replaced"))
    assert all_rows(database_url()) == before


def test_a_file_in_it_that_was_changed_is_refused_though_the_sum_beside_it_was_made_anew(made, folder):
    path = taking.take(folder, at=AT).path
    with tarfile.open(path) as tar:
        files = {found.name: bytearray(tar.extractfile(found).read()) for found in tar}
    files["database"][5_000] ^= 1
    with tarfile.open(path, "w:gz") as tar:
        for name, said in files.items():
            archive._add_bytes(tar, name, bytes(said))
    archive._write_sum(path, archive.sha256(path))
    with pytest.raises(archive.Failed, match="database in .* is not what was written"):
        taking.restore(path, replace=lambda: pytest.fail("it was about to be replaced"))


def test_without_its_sum_or_cut_off_it_is_refused(made, folder):
    path = taking.take(folder, at=AT).path
    archive.sum_file(path).unlink()
    with pytest.raises(archive.Failed, match="nobody can tell whether it is whole"):
        taking.restore(path)
    path.write_bytes(path.read_bytes()[:-100])
    archive._write_sum(path, archive.sha256(path))
    with pytest.raises(archive.Failed, match="is no backup of this program"):
        taking.restore(path)


def test_a_database_with_data_is_kept_unless_it_is_to_be_replaced(made, folder, tmp_path):
    path = taking.take(folder, at=AT).path
    before = all_rows(database_url())
    factories.order()
    with pytest.raises(archive.Failed, match=r"holds 2 orders, 3 blinds, .* already, and nothing was changed"):
        taking.restore(path)
    done = manage("restore", path, "--replace", url=database_url(), tmp_path=tmp_path)
    assert done.returncode == 0, done.stderr
    assert {name for name, rows in all_rows(database_url()).items() if before[name] != rows} == set()
    newest, *_ = keeping.backups(folder)
    assert str(newest) in done.stdout
    assert archive.check(newest, expected=archive.read_sum(newest)).rows["orders_order"] == 2


def test_a_backup_of_a_newer_version_or_of_another_kind_is_refused(made, folder, monkeypatch):
    path = taking.take(folder, at=AT).path
    known = versions.known_migrations()
    newest = max(known)
    with monkeypatch.context() as patch:
        patch.setattr(versions, "known_migrations", lambda: known - {newest})
        with pytest.raises(archive.Failed, match=rf"newer than this one, .* it has {newest[0]} {newest[1]}"):
            taking.restore(path)
    monkeypatch.setattr(connections["default"], "vendor", "other")
    with pytest.raises(archive.Failed, match="Restore it into one of its own kind"):
        taking.restore(path)


def test_a_disk_that_is_full_midway_leaves_the_backups_of_before(made, folder, tmp_path):
    """No file may grow beyond a limit of the process (RLIMIT_FSIZE): the copy comes to it, or the archive does."""
    first = manage("backup", url=database_url(), tmp_path=tmp_path)
    assert first.returncode == 0, first.stderr
    assert "checked." in first.stdout
    [path] = keeping.backups(folder)
    for limit in (20_000, path.stat().st_size - 1_000):
        done = manage("backup", url=database_url(), tmp_path=tmp_path, limit=limit)
        assert done.returncode == 1
        assert "No backup was made, and none was put away." in done.stderr
        assert sorted(folder.iterdir()) == sorted([path, archive.sum_file(path)])
        archive.check(path, expected=archive.read_sum(path))


def test_a_blind_that_does_not_stand_as_its_log_says_is_told_of(made, folder):
    packed, *_ = made
    assert list(replay.differing()) == []
    Stage.objects.filter(blind=packed, station=route.PACKING).update(state=route.WAITING)
    [(blind, difference)] = replay.differing()
    assert blind == packed
    assert difference.startswith("at packing it is StageState(state='waiting'")
    path = taking.take(folder, at=AT).path
    with pytest.raises(archive.Failed, match="does not stand as its log says"):
        taking.restore(path, replace=lambda: None)


@pytest.mark.skipif(workshop.DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3", reason="PostgreSQL's own")
def test_a_missing_program_is_said(made, folder, monkeypatch):
    monkeypatch.setattr(postgresql.shutil, "which", lambda program: None)
    with pytest.raises(archive.Failed, match="There is no pg_dump on this machine. Install it"):
        taking.take(folder, at=AT)


def test_a_list_tells_what_is_in_it(made, folder):
    path = taking.take(folder, at=AT).path
    with tarfile.open(path) as tar:
        assert sorted(tar.getnames()) == ["database", "list.json", "outbox/20260304-1.log"]
        said = json.load(tar.extractfile("list.json"))
    assert said["version"] == machine.version()
    assert said["rows"]["production_stationevent"] == StationEvent.objects.count()


# Which are kept


def paths(*moments):
    return [Path(archive.name_of(at=at, version="1", vendor="sqlite")) for at in sorted(moments, reverse=True)]


def test_days_and_weeks_are_kept_and_all_of_the_last_two_days():
    hourly = [AT - dt.timedelta(hours=hour) for hour in range(24 * 100)]
    kept = {keeping.made_at(path) for path in keeping.kept(paths(*hourly), days=7, weeks=8, at=AT)}
    assert {moment for moment in kept if moment > AT - dt.timedelta(days=2)} == set(hourly[:48])
    # Of the eight weeks, the newest of this one and of the last lie within the seven days.
    assert len({moment.date() for moment in kept}) == 7 + 6
    assert len({moment.isocalendar()[:2] for moment in kept}) == 8
    assert min(kept) > AT - dt.timedelta(weeks=9)


def test_a_month_without_any_takes_none_away():
    old = [AT - dt.timedelta(days=day) for day in range(40, 47)]
    assert keeping.kept(paths(AT, *old), days=8, weeks=1, at=AT) == set(paths(AT, *old))


def test_what_was_just_made_is_kept_though_the_clock_was_set_back(tmp_path):
    ahead = [AT + dt.timedelta(days=day) for day in range(20)]
    for path in paths(AT, *ahead):
        (tmp_path / path).write_bytes(b"")
    new = tmp_path / archive.name_of(at=AT, version="1", vendor="sqlite")
    keeping.put_away(tmp_path, new=new, days=3, weeks=1, at=AT)
    assert new.exists()


def test_nothing_else_in_the_folder_is_touched(tmp_path):
    for name in ("notes.txt", "railwright.sqlite3", "railwright-20200101T000000Z-1-sqlite.tar.gz.part"):
        (tmp_path / name).write_text("")
    keeping.put_away(tmp_path, new=tmp_path / "none", days=1, weeks=1, at=AT)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["notes.txt", "railwright.sqlite3"]
