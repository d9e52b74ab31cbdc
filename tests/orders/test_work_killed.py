"""Workers that are killed, told to end, cut off from their database, or two at once: everything is done once."""

import datetime as dt
import signal
import threading

import pytest
from django.db import connection
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from orders import mail, work
from orders.importing import taking
from orders.models import Customer, CustomersFile, Letter, Order, OrderLine, Work
from tests import factories
from tests.orders.background_work import asked, done, now, outcomes, wait_for, worker_process
from tests.orders.looked_at import catalogue
from tests.orders.made_files import BAY, HEADS, separated
from tests.orders.mail_server import mail_server

pytestmark = pytest.mark.django_db(transaction=True)
ROWS = 1500


@pytest.fixture
def clerk():
    return factories.person("sales", name="nora")


@pytest.fixture
def importing(clerk):
    """A long file that waits to be taken in."""
    catalogue()
    rows = [[*HEADS, "Order"], *([*BAY, f"K{number // 50}"] for number in range(ROWS))]
    customer = factories.customer()
    file = taking.keep(customer=customer, name="may.csv", content=separated(rows), by=clerk, at=timezone.now())
    today = timezone.localdate()
    return taking.begin_taking_in(
        file=file, due_on=today + dt.timedelta(days=60), by=clerk, today=today, again=False, rows=ROWS
    )


@pytest.mark.parametrize("moment", ["reading", "writing"])
def test_an_import_whose_worker_is_killed_is_done_once_by_the_next(importing, moment, tmp_path):
    held = tmp_path / "held"
    with worker_process(HOLD_AT=moment, HELD=str(held)) as first:
        wait_for(held.exists)
        first.kill()
        first.wait()
    assert now(importing).state == Work.RUNNING
    assert not Order.objects.exists()
    with worker_process():
        wait_for(done(importing))
    assert now(importing).attempt == 2
    assert (Order.objects.count(), OrderLine.objects.count()) == (ROWS // 50, ROWS)
    assert CustomersFile.objects.get().orders.count() == ROWS // 50
    assert now(importing).said == "may.csv is taken in: 30 orders, Order 0001 to Order 0030. Confirm what is right."


def test_a_letter_that_was_leaving_as_the_worker_was_killed_is_perhaps_sent_and_the_next_is_sent(clerk, settings):
    paper = mail.issue(
        order=factories.order(by=clerk, lines=[{}]),
        kind="confirmation",
        mark="AAAA0000",
        make_pdf=lambda: b"%PDF",
        by=clerk,
        at=timezone.now(),
    )
    hold = threading.Event()
    with mail_server(settings, hold=hold) as taken:
        sends = {"EMAIL_URL": f"smtp://127.0.0.1:{settings.EMAIL_PORT}", "MAIL_FROM": "no-reply@blinds.example"}
        mail.write(
            paper=paper,
            addresses=["ida@firm.example", "jo@firm.example"],
            subject="Order confirmation",
            text="Dear Ida",
            form_id="11111111-2222-4333-8444-555555555555",
            by=clerk,
            at=timezone.now(),
        )
        with worker_process(**sends) as first:
            wait_for(lambda: len(taken) == 1)
            assert outcomes() == ["sending", "waiting"]
            first.kill()
            first.wait()
        hold.set()
        with worker_process(**sends):
            wait_for(done(Work.objects.get()))
        assert outcomes() == ["perhaps", "sent"]
        assert [b"ida@firm.example" in each for each in taken] == [True, False]
        assert len(taken) == 2
    assert Work.objects.get().said == "1 sent, 1 perhaps sent."
    assert Letter.objects.first().reason == ""


def test_a_worker_that_is_told_to_end_puts_back_what_it_does_and_it_is_not_held_against_it(clerk):
    found = asked(clerk, steps=200, pause=0.02)
    with worker_process() as first:
        wait_for(lambda: now(found).done > 3)
        first.send_signal(signal.SIGTERM)
        assert first.wait(10) == 0
    assert (now(found).state, now(found).attempt, now(found).cut_off) == (Work.WAITING, 2, 0)
    Work.objects.update(whole=3)
    with worker_process():
        wait_for(done(found))
    assert Customer.objects.filter(name="Counted to 200").count() == 1


def test_a_worker_that_is_stopped_for_a_while_writes_nothing_once_another_has_its_work(clerk):
    """As a machine that was asleep: the work goes on at another, and the sleeper finds out at its next step."""
    found = asked(clerk, steps=40, pause=0.1)
    with worker_process() as sleeper:
        wait_for(lambda: now(found).done > 2)
        sleeper.send_signal(signal.SIGSTOP)
        with worker_process():
            wait_for(lambda: now(found).attempt == 2)
            sleeper.send_signal(signal.SIGCONT)
            wait_for(done(found))
    assert Customer.objects.filter(name="Counted to 40").count() == 1
    assert (now(found).attempt, now(found).cut_off) == (2, 1)


def test_two_workers_share_what_waits_and_each_piece_is_done_once(clerk):
    found = [asked(clerk, steps=10, pause=0.02) for _ in range(12)]
    with worker_process(), worker_process():
        wait_for(done(*found))
    assert Customer.objects.filter(name="Counted to 10").count() == 12
    takers = [task.worker_ids for task in DBTaskResult.objects.all()]
    assert [len(each) for each in takers] == [1] * 12
    assert len({each[0] for each in takers}) == 2


def test_work_that_goes_on_is_left_soon_after_it_is_cancelled(clerk):
    found = asked(clerk, steps=1000, pause=0.02)
    with worker_process():
        wait_for(lambda: now(found).done > 3)
        work.cancel(work=now(found), by=clerk)
        wait_for(lambda: now(found).state == Work.CANCELLED, seconds=5)
    assert now(found).said == "Cancelled by nora."
    assert 3 < now(found).done < 1000
    assert not Customer.objects.filter(name="Counted to 1000").exists()


def test_a_database_that_throws_its_workers_out_only_holds_them_up(clerk):
    if connection.vendor != "postgresql":
        pytest.skip("SQLite has no server that could")
    found = asked(clerk, steps=60, pause=0.05)
    with worker_process():
        wait_for(lambda: now(found).done > 3)
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity"
                " WHERE datname = current_database() AND pid <> pg_backend_pid()"
            )
        wait_for(done(found))
    assert Customer.objects.filter(name="Counted to 60").count() == 1
    assert now(found).attempt == 2
