"""The owner is told what is wrong with the server, since when, what it means and what to do; and when all is well."""

import datetime as dt
import uuid

import pytest
from django.urls import reverse
from django.utils import timezone

from orders.models import IssuedPaper, Letter, Work, Worker
from production import machine, mishaps, route, well
from production.backup import archive
from production.models import Mishap
from production.record import record
from tests import factories
from tests.tablets import enrolled

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def enough_room(monkeypatch):
    """A disk with room and a quick database, whatever the machine that runs the tests has."""
    monkeypatch.setattr(machine, "disk", lambda: machine.Disk(free=80 * 10**9, total=100 * 10**9))
    monkeypatch.setattr(machine, "database_ms", lambda: 0.2)


@pytest.fixture(autouse=True)
def backups(settings, tmp_path):
    """The folder of backups, with one of this morning."""
    settings.BACKUPS = tmp_path
    backed_up(tmp_path, at=timezone.now() - dt.timedelta(hours=7))
    return tmp_path


def backed_up(folder, *, at):
    (folder / archive.name_of(at=at, version="0.1.0", vendor="sqlite")).touch()


@pytest.fixture(autouse=True)
def worker():
    """A worker that was seen just now."""
    return Worker.objects.create(key="one", host="here", seen_at=timezone.now())


@pytest.fixture
def page(client):
    """Function that gives the page's text as a manager sees it."""
    client.force_login(factories.person("manager"))

    def text():
        answer = client.get(reverse("well"))
        assert answer.status_code == 200
        return " ".join(answer.content.decode().split())

    return text


def found():
    return {finding.key: finding for finding in well.wrong(at=timezone.now())}


def test_a_server_with_nothing_wrong_says_so(page):
    assert found() == {}
    assert "<h1>All is well</h1>" in page()


def test_the_page_says_version_since_when_and_room(page):
    text = page()
    assert "Running since" in text
    assert "80.0 GB of 100 GB" in text


def test_a_disk_that_is_nearly_full(page, monkeypatch):
    monkeypatch.setattr(machine, "disk", lambda: machine.Disk(free=800_000_000, total=100 * 10**9))
    assert list(found()) == ["disk"]
    text = page()
    assert "The disk is nearly full: 0.8 GB of 100 GB are free." in text
    assert "nothing can be entered at any station" in text
    assert "Move old backups" in text


def test_a_slow_database(monkeypatch):
    taken = iter([300, 80, 2])
    monkeypatch.setattr(machine, "database_ms", lambda: next(taken))
    assert found()["database"].what == "The database is slow: the least question takes 80 ms."


def test_answers_that_broke_are_told_with_the_newest_number(page):
    mishaps.broke(route="order", number="0001-0001-0001", error=KeyError("Ida Marlow"))
    mishaps.broke(route="lines", number="0002-0002-0002", error=ValueError("secret"))
    text = page()
    assert "2 answers broke in the last 24 hours, the newest with number 0002-0002-0002." in text
    assert "ValueError, on the page “lines”" in text
    assert "secret" not in text
    assert found()["errors"].since == Mishap.objects.order_by("pk").first().at


def test_what_broke_the_day_before_yesterday_is_told_no_more():
    mishaps.broke(route="order", number="0001-0001-0001")
    assert "errors" not in {finding.key for finding in well.wrong(at=timezone.now() + dt.timedelta(hours=25))}


def test_a_page_that_is_often_slow_is_told_and_one_that_was_slow_once_is_not():
    at = timezone.now()
    for key, times, ms in (("order", 1, 900), ("order", 30, 700), ("tickets", 2, 4000)):
        Mishap.objects.create(kind=Mishap.SLOW, at=at, number="1", route=key, ms=ms, queries=12, times=times)
    assert list(found()) == ["slow-order"]
    slow = found()["slow-order"]
    assert slow.what == "The page “order” was slow 31 times in the last 24 hours."
    assert "At worst it took 0.9 s, with 12 questions" in slow.means


def test_a_backup_of_the_day_before_yesterday(page, backups):
    for path in backups.iterdir():
        path.unlink()
    made = timezone.now().replace(microsecond=0) - dt.timedelta(hours=27)
    backed_up(backups, at=made)
    assert found()["backup"].since == made
    assert "The newest backup is more than a day old." in page()


@pytest.mark.parametrize("folder", [".", "never/made"])
def test_no_backup_at_all(settings, backups, folder):
    for path in backups.iterdir():
        path.unlink()
    settings.BACKUPS = backups / folder
    assert found()["backup"].what == "There is no backup."
    assert found()["backup"].means == "If this disk broke now, everything would be lost."


def test_a_worker_that_was_not_seen_for_a_while(page, worker):
    worker.seen_at = timezone.now() - dt.timedelta(minutes=20)
    worker.save()
    assert list(found()) == ["worker"]
    assert found()["worker"].since == worker.seen_at
    assert "Nobody does the work in the background." in page()


def test_no_worker_at_all(worker):
    worker.delete()
    assert found()["worker"].since is None


def test_work_that_could_not_be_done(page):
    at = timezone.now()
    asked = {"by": factories.person("sales"), "asked_at": at, "ended_at": at}
    Work.objects.create(what="The tickets of order 12", state=Work.FAILED, said="It was cut off 3 times.", **asked)
    Work.objects.create(what="The labels of order 12", state=Work.DONE, **asked)
    text = page()
    assert "One piece of work in the background could not be done in the last 24 hours." in text
    assert "The newest: The tickets of order 12. It was cut off 3 times." in text


def test_letters_that_could_not_be_sent(page):
    order, nora, at = factories.order(), factories.person("sales"), timezone.now()
    paper = IssuedPaper.objects.create(
        order=order, kind="confirmation", mark="m", pdf=b"", sha256="", issued_at=at, issued_by=nora
    )
    letter = {"paper": paper, "subject": "s", "text": "t", "by": nora, "at": at}
    for outcome, reason in ((Letter.SENT, ""), (Letter.FAILED, "The mail server refused the password.")):
        Letter.objects.create(form_id=uuid.uuid4(), to="a@b.example", outcome=outcome, reason=reason, **letter)
    text = page()
    assert "One letter to customers could not be sent in the last 24 hours." in text
    assert "The newest: The mail server refused the password." in text


def test_a_tablet_is_missed_once_others_work_and_nothing_was_entered_on_it(client):
    now, maker = timezone.now(), factories.person("maker")
    silent, busy = enrolled(client, name="Railing 1"), enrolled(client, name="Railing 2")
    first, second, third = factories.released(lines=({}, {}, {}))
    assert found() == {}, "nobody has begun yet today"
    begin(first, by=maker, at=now)
    assert found() == {}, "whoever works today works without tablets"
    begin(second, by=maker, at=now, tablet=busy)
    assert [finding.what for finding in found().values()] == ["Nothing was entered today on the tablet Railing 1."]
    begin(third, by=maker, at=now, tablet=silent)
    assert found() == {}


def test_a_tablet_is_missed_since_what_was_entered_on_it_last(client):
    now, maker = timezone.now(), factories.person("maker")
    silent, busy = enrolled(client, name="Railing 1"), enrolled(client, name="Railing 2")
    first, second = factories.released(lines=({}, {}))
    begin(first, by=maker, at=now - dt.timedelta(days=2), tablet=silent)
    begin(second, by=maker, at=now, tablet=busy)
    assert found()[f"tablet-{silent.pk}"].since == now - dt.timedelta(days=2)


def begin(blind, *, by, at, tablet=None):
    record(event_id=uuid.uuid4(), code=blind.code, station="railing", kind=route.START, by=by, at=at, tablet=tablet)


def test_how_it_is_set_up_is_worth_knowing_and_not_wrong(page, settings):
    settings.DEBUG = True
    text = page()
    assert "All is well" in text
    assert "DEBUG is on." in text
    assert "Pages travel without TLS, by http." in text


def test_over_https_with_a_mail_server_nothing_is_worth_knowing(client, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.DEBUG = False
    client.force_login(factories.person("administrator"))
    assert "Worth knowing" not in client.get(reverse("well"), secure=True).content.decode()


def test_the_managers_day_sheet_says_in_one_line_that_something_is_wrong(client):
    client.force_login(factories.person("manager"))
    assert reverse("well") + '">What it means' not in client.get(reverse("day")).content.decode()
    mishaps.broke(route="order", number="0001-0001-0001")
    page = client.get(reverse("day")).content.decode()
    assert "One answer broke in the last 24 hours" in page
    assert f'<a href="{reverse("well")}">What it means and what to do</a>' in page


def test_nobody_else_is_bothered_with_it(client):
    mishaps.broke(route="order", number="0001-0001-0001")
    client.force_login(factories.person("sales"))
    assert "broke" not in client.get(reverse("day")).content.decode()


def test_looking_takes_few_queries_however_much_went_wrong(django_assert_max_num_queries):
    for number in range(40):
        mishaps.broke(route="order", number=str(number))
    with django_assert_max_num_queries(10):
        well.wrong(at=timezone.now())
