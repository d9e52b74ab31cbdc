"""Work outside the request: asked for once, told of, left, given up, kept for a week; and whether anybody does it."""

import datetime as dt

import pytest
from django.db import IntegrityError, connection, transaction
from django.urls import reverse
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from orders import work, worker
from orders.models import Customer, Work, Worker, WorkResult
from orders.views.works import follow
from tests import factories
from tests.orders import background_work
from tests.orders.background_work import LEFT, breaks, counted, leads, loses_the_database, made
from tests.orders.pages import queries_of
from tests.worked import do_what_waits

pytestmark = pytest.mark.django_db


@pytest.fixture
def clerk(client):
    found = factories.person("sales", name="nora")
    client.force_login(found)
    return found


@pytest.fixture(autouse=True)
def nothing_left():
    LEFT.clear()


def asked(clerk, function=counted, **values):
    given = {"what": "Counting", "by": clerk, "whole": values.get("steps", 0), **values}
    return work.begin(function, **given)


def after(found):
    do_what_waits()
    return Work.objects.get(pk=found.pk)


def text_of(answer):
    return " ".join(answer.content.decode().split())


def test_what_waits_is_done_and_said(clerk):
    found = after(asked(clerk, steps=3))
    assert (found.state, found.done, found.whole, found.said) == ("done", 3, 3, "All counted.")
    assert Customer.objects.filter(name="Counted to 3").exists()


def test_the_same_wish_of_the_same_person_is_one_piece_of_work_while_it_is_open(clerk):
    first = asked(clerk, steps=3, same="counting")
    assert asked(clerk, steps=3, same="counting") == first
    assert asked(factories.person("sales"), steps=3, same="counting") != first
    do_what_waits()
    assert asked(clerk, steps=3, same="counting") != first


def test_two_presses_at_once_that_both_found_none_make_one(clerk, monkeypatch):
    first = asked(clerk, steps=3, same="counting")
    none_open = iter([Work.objects.none(), Work.objects.open()])
    monkeypatch.setattr(type(Work.objects), "open", lambda self: next(none_open))
    assert asked(clerk, steps=3, same="counting") == first
    monkeypatch.undo()
    assert (Work.objects.count(), DBTaskResult.objects.count()) == (1, 1)


def test_work_is_only_asked_for_if_what_asks_for_it_is_kept(clerk):
    with transaction.atomic():
        asked(clerk, steps=3)
        transaction.set_rollback(True)
    assert not Work.objects.exists()
    assert not DBTaskResult.objects.exists()


def test_what_can_not_be_done_says_why_and_what_was_to_become_of_the_rest(clerk):
    found = after(asked(clerk, breaks, why="reason"))
    assert (found.state, found.said) == ("failed", "There is no paper left. Fill some in.")
    assert [(found.said, {"why": "reason"})] == LEFT


def test_an_error_is_said_without_its_words_and_logged_with_them(clerk, caplog):
    found = after(asked(clerk, breaks, why="error"))
    assert found.state == "failed"
    assert found.said.startswith("It broke (KeyError). Ask for it again;")
    assert "KeyError: 'secret'" in caplog.text


def test_what_waits_is_cancelled_at_once(clerk):
    found = asked(clerk, steps=3)
    work.cancel(work=found, by=clerk)
    assert LEFT == [("Cancelled by nora.", {"steps": 3})]
    found = after(found)
    assert (found.state, found.said) == ("cancelled", "Cancelled by nora.")
    assert not Customer.objects.filter(name="Counted to 3").exists()


def test_cancelled_between_the_last_piece_and_the_end_nothing_is_written(clerk, monkeypatch):
    found = asked(clerk, steps=3)
    finish = work.Progress.finish

    def cancelled_first(self, **given):
        work.cancel(work=found, by=clerk)
        finish(self, **given)

    monkeypatch.setattr(work.Progress, "finish", cancelled_first)
    assert after(found).state == "cancelled"
    assert not Customer.objects.filter(name="Counted to 3").exists()


def test_work_that_another_worker_has_by_now_is_left_alone(clerk, monkeypatch):
    found = asked(clerk, steps=1)
    puts_back = [lambda: work.put_back(found.pk, attempt=1), lambda: None]
    monkeypatch.setattr(background_work.time, "sleep", lambda seconds: puts_back.pop(0)())
    found = after(found)
    assert (found.state, found.attempt) == ("done", 2)
    assert Customer.objects.filter(name="Counted to 1").count() == 1


def test_a_lost_database_is_no_fault_of_the_work_which_is_begun_anew(clerk):
    found = asked(clerk, loses_the_database, times=1)
    assert after(found).state == "running"
    worker.put_back_what_was_left()
    found = after(found)
    assert (found.state, found.attempt) == ("done", 2)


def test_work_that_is_cut_off_again_and_again_is_given_up(clerk):
    found = asked(clerk, loses_the_database, times=9)
    for _ in range(work.MOST_ATTEMPTS):
        assert after(found).state == "running"
        worker.put_back_what_was_left()
    found = after(found)
    assert (found.state, found.attempt) == ("failed", 3)
    assert found.said.startswith("It was cut off 3 times.")


def claimed(found, *, by):
    """As if the worker of that key had taken it and gone no further."""
    DBTaskResult.objects.get(pk=Work.objects.get(pk=found.pk).task).claim(by)


def test_what_a_living_worker_has_in_hand_stays_there_and_what_a_dead_one_had_is_put_back(clerk):
    alive, dead = asked(clerk, steps=2), asked(clerk, steps=3)
    Worker.objects.create(pk="alive", seen_at=timezone.now())
    Worker.objects.create(pk="dead", seen_at=timezone.now(), gone=True)
    claimed(alive, by="alive")
    claimed(dead, by="dead")
    worker.put_back_what_was_left()
    assert [Work.objects.get(pk=each.pk).attempt for each in (alive, dead)] == [1, 2]
    do_what_waits()
    assert [Work.objects.get(pk=each.pk).state for each in (alive, dead)] == ["waiting", "done"]


def test_work_of_another_version_is_left_to_that_and_holds_up_no_other(clerk, caplog):
    newer, ours = asked(clerk, steps=2), asked(clerk, steps=3)
    DBTaskResult.objects.filter(pk=newer.task).update(task_path="orders.mail.not_yet_known")
    assert after(newer).state == "waiting"
    claimed(ours_again := asked(clerk, steps=4), by="dead")
    worker.put_back_what_was_left()
    assert "Another version has to put back work" in caplog.text
    assert [after(each).state for each in (newer, ours, ours_again)] == ["waiting", "done", "done"]


def test_a_worker_is_dead_once_its_beats_stand_still_for_a_minute_whatever_its_clock_says(monkeypatch):
    years_ahead = timezone.now() + dt.timedelta(days=800)
    Worker.objects.create(pk="other", beats=7, seen_at=years_ahead)
    now = [1000.0]
    monkeypatch.setattr(worker.time, "monotonic", lambda: now[0])
    others = worker.Others(but="me")

    def look(seconds):
        now[0] += seconds
        others.look()
        return Worker.objects.get().gone

    assert [look(0), look(59)] == [False, False]
    Worker.objects.update(beats=8)
    assert [look(2), look(59), look(1)] == [False, False, True]


def test_a_worker_that_lives_is_seen_and_one_that_stopped_is_not_said_to(clerk):
    assert work.worker_seen() is None
    heart = worker.Heart()
    heart.beat()
    heart.beat()
    assert Worker.objects.get().beats == 1
    assert work.worker_seen().lives
    Worker.objects.update(seen_at=timezone.now() - dt.timedelta(seconds=90))
    seen = work.worker_seen()
    assert not seen.lives
    assert timezone.now() - seen.at < dt.timedelta(minutes=2)
    heart.beat()
    heart.stop()
    assert not work.worker_seen().lives


@pytest.mark.django_db(transaction=True)
def test_the_command_does_what_waits_and_says_good_bye(clerk, monkeypatch):
    from django.core.management import call_command

    monkeypatch.setattr(worker, "IDLE_S", 0)
    found = asked(clerk, steps=3)
    call_command("work", once=True)
    assert Work.objects.get(pk=found.pk).state == "done"
    assert Worker.objects.get().gone


def test_what_ended_is_forgotten_after_a_week_with_what_it_made(clerk):
    after(asked(clerk, made, size=10))
    waiting = asked(clerk, steps=3)
    Worker.objects.create(pk="old", seen_at=timezone.now(), gone=True)
    worker.tidy(at=timezone.now() + dt.timedelta(days=6, hours=23))
    assert WorkResult.objects.count() == 1
    worker.tidy(at=timezone.now() + dt.timedelta(days=7, minutes=1))
    assert (WorkResult.objects.count(), list(Work.objects.all()), Worker.objects.count()) == (0, [waiting], 0)
    assert [task.pk for task in DBTaskResult.objects.all()] == [Work.objects.get().task]


def test_sqlite_knows_the_sizes_of_its_tables_once_it_is_tidied(clerk):
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL looks by itself")
    worker.tidy(at=timezone.now())
    with connection.cursor() as cursor:
        cursor.execute("SELECT tbl FROM sqlite_stat1 WHERE idx IS NOT NULL")
        assert ("orders_person",) in cursor.fetchall()


def test_a_file_that_is_too_large_is_refused_with_its_size(clerk, monkeypatch):
    monkeypatch.setattr(WorkResult, "MOST_BYTES", 2_000_000)
    found = after(asked(clerk, made, size=3_000_000))
    assert found.state == "failed"
    assert found.said == "It came to 3 MB, and no more than 2 MB are kept. Ask for less at once."


@pytest.mark.parametrize("nonsense", [{"state": "lost"}, {"state": "done"}, {"ended_at": timezone.now()}])
def test_the_database_refuses_a_state_that_it_does_not_know_or_an_end_that_is_none(clerk, nonsense):
    asked(clerk, steps=3)
    with pytest.raises(IntegrityError), transaction.atomic():
        Work.objects.update(**nonsense)


def test_the_page_says_how_far_it_is_and_asks_again_by_itself_until_it_has_ended(client, clerk):
    found = asked(clerk, steps=12)
    Work.objects.update(done=5, state="running", said="5 counted")
    page = text_of(client.get(found.get_absolute_url()))
    assert "<strong>Going on: 5 of 12</strong>" in page
    assert '<progress class="work-progress" max="12" value="5"' in page
    assert f'hx-get="{found.get_absolute_url()}" hx-trigger="every 2s"' in page
    assert '<noscript><meta http-equiv="refresh" content="5"></noscript>' in page
    Work.objects.update(state="waiting")
    page = text_of(client.get(after(found).get_absolute_url(), HTTP_HX_REQUEST="true"))
    assert page.startswith("<section")
    assert "<strong>Done</strong>" in page
    assert "hx-get" not in page


def test_what_waits_for_nobody_says_so_and_what_to_start(client, clerk):
    found = asked(clerk, steps=12)
    page = text_of(client.get(found.get_absolute_url()))
    assert "<strong>It waits:</strong> nothing on this server does such work yet." in page
    assert "<code>manage.py work</code>" in page
    heart = worker.Heart()
    heart.beat()
    assert "It waits:" not in text_of(client.get(found.get_absolute_url()))


def test_it_is_cancelled_from_its_page(client, clerk):
    found = asked(clerk, steps=12)
    address = reverse("work-cancel", args=[found.pk])
    assert address in text_of(client.get(found.get_absolute_url()))
    page = text_of(client.post(address, follow=True))
    assert "<strong>Cancelled</strong>" in page
    assert "Cancelled by nora." in page
    assert address not in page
    assert client.get(address).status_code == 405


def test_cancelled_too_late_it_stays_as_it_is_and_that_is_said(client, clerk):
    found = after(asked(clerk, steps=3))
    page = text_of(client.post(reverse("work-cancel", args=[found.pk]), follow=True))
    assert "Counting had ended already." in page
    assert "<strong>Done</strong>" in page


def test_what_it_made_is_given_to_whoever_asked_and_to_a_manager_alone(client, clerk):
    found = after(asked(clerk, made, size=10))
    address = reverse("work-result", args=[found.pk])
    assert address in text_of(client.get(found.get_absolute_url()))
    answer = client.get(address)
    assert (answer.content, answer["Content-Disposition"]) == (b"x" * 10, 'inline; filename="counted.txt"')
    client.force_login(factories.person("manager"))
    assert client.get(address).status_code == 200
    client.force_login(factories.person("sales", "checker", "administrator"))
    for name in ("work", "work-result"):
        refused = client.get(reverse(name, args=[found.pk]))
        assert refused.status_code == 403
        assert "was asked for by nora. Ask them, or a manager." in text_of(refused)
    assert client.post(reverse("work-cancel", args=[found.pk])).status_code == 403


def test_the_way_to_what_it_led_to_is_shown(client, clerk):
    found = after(asked(clerk, leads, where="/customers/1/files/"))
    assert 'href="/customers/1/files/">See what it made</a>' in text_of(client.get(found.get_absolute_url()))


def test_each_persons_own_are_listed_and_no_others(client, clerk):
    asked(clerk, what="Labels of Order 0001")
    asked(factories.person("sales"), what="Labels of Order 0002")
    page = text_of(client.get(reverse("works")))
    assert "Labels of Order 0001" in page
    assert "Order 0002" not in page


def test_every_page_shows_ones_own_open_work_and_asks_for_it_only_where_there_is_any(client, clerk, rf):
    customers = reverse("customers")
    factories.customer()
    client.get(customers)
    without = queries_of(client, customers)
    found = asked(clerk, steps=3)
    request = rf.get("/")
    request.session = client.session
    follow(request)
    request.session.save()
    assert f'<a href="{found.get_absolute_url()}">At work<span class="tag">1</span></a>' in text_of(
        client.get(customers)
    )
    do_what_waits()
    assert "At work" not in text_of(client.get(customers))
    assert queries_of(client, customers) == without
