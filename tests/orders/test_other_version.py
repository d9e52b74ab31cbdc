"""While the database is of another version no work is taken up, nothing is tidied, and a backup may still be taken."""

import time

import pytest
from django.core.management import CommandError, call_command

from orders import versions
from orders.models import Customer, Work, Worker
from tests import factories
from tests.another_version import NEWER, OLDER, WAYS, of_another_version
from tests.orders.background_work import asked, done, now, wait_for, worker_process

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def clerk():
    return factories.person("sales", name="nora")


@pytest.mark.parametrize("way", WAYS)
def test_a_worker_that_begins_waits_until_the_versions_fit_and_then_goes_on(way, clerk, capfd):
    found = asked(clerk, steps=3)
    with worker_process() as process:
        with of_another_version(way):
            wait_for(lambda: "Nothing is done meanwhile: The database " in capfd.readouterr().err)
            time.sleep(1)
            assert (now(found).state, process.poll()) == (Work.WAITING, None)
            assert not Worker.objects.exists()
        wait_for(done(found))
    assert Customer.objects.filter(name="Counted to 3").count() == 1


def test_what_is_at_work_as_the_database_becomes_newer_is_put_back_and_done_once_when_it_fits(clerk):
    """It is not held against it; the other version's worker may take it up meanwhile."""
    found = asked(clerk, steps=100, pause=0.03)
    with worker_process() as process:
        wait_for(lambda: now(found).done > 3)
        with of_another_version(NEWER):
            wait_for(lambda: now(found).state == Work.WAITING)
            time.sleep(1)
            assert (now(found).state, now(found).attempt, now(found).cut_off) == (Work.WAITING, 2, 0)
            assert process.poll() is None
        wait_for(done(found))
        process.terminate()
        assert process.wait(10) == 0
    assert Customer.objects.filter(name="Counted to 100").count() == 1


def test_a_worker_that_waits_ends_when_it_is_told_to(clerk, capfd):
    with of_another_version(OLDER), worker_process() as process:
        wait_for(lambda: "Nothing is done meanwhile" in capfd.readouterr().err)
        process.terminate()
        assert process.wait(10) in (0, -15)


@pytest.mark.parametrize("way", WAYS)
def test_nothing_is_tidied_and_the_reason_said(way):
    with of_another_version(way), pytest.raises(CommandError, match="Nothing was removed. The database "):
        call_command("tidy")
    call_command("tidy")


@pytest.mark.parametrize("way", WAYS)
def test_a_backup_may_be_taken_all_the_same(way, tmp_path):
    with of_another_version(way):
        call_command("backup", str(tmp_path))
    assert len(list(tmp_path.glob("*.tar.gz"))) == 1


def test_it_is_looked_at_again_soon_where_the_database_does_not_answer(monkeypatch):
    from django.db import OperationalError

    clock, look, answers = [0.0], versions.Look(), [OperationalError(), ""]
    monkeypatch.setattr(versions.time, "monotonic", lambda: clock[0])

    def misfit():
        found = answers.pop(0)
        if isinstance(found, Exception):
            raise found
        return found

    monkeypatch.setattr(versions, "misfit", misfit)
    assert look.fits()
    assert len(answers) == 1
    clock[0] += versions.AGAIN_S
    assert look.fits()
    assert answers == []
