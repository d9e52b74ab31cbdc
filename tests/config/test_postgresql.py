"""A connection that is kept is looked at before it is used again, and not asked."""

import pytest
from django.conf import settings
from django.db import connection, connections

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif("sqlite" in settings.DATABASES["default"]["ENGINE"], reason="PostgreSQL's own"),
]


@pytest.fixture
def kept():
    """A connection of its own, which has answered before."""
    with connection.cursor():
        own = connections.create_connection("default")
    own.ensure_connection()
    yield own
    own.close()


def asked(own, monkeypatch):
    """Whether it is usable, and what was asked for that."""
    questions, kind = [], type(own.connection.cursor())
    run = kind.execute
    monkeypatch.setattr(kind, "execute", lambda self, sql, *rest: questions.append(sql) or run(self, sql, *rest))
    return own.is_usable(), questions


def test_one_that_stands_is_used_without_a_question(kept, monkeypatch):
    assert asked(kept, monkeypatch) == (True, [])


def test_one_that_the_server_has_ended_is_not_used_again(kept):
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_terminate_backend(%s, 5000)", [kept.connection.info.backend_pid])
    assert not kept.is_usable()


def test_one_that_was_closed_here_is_not_used_again(kept):
    kept.connection.close()
    assert not kept.is_usable()


def test_one_whose_server_said_something_meanwhile_is_asked(kept, monkeypatch):
    with kept.cursor() as cursor:
        cursor.execute("LISTEN said")
    with connection.cursor() as cursor:
        cursor.execute("NOTIFY said")
    # The word comes by itself.
    import select

    look = select.poll()
    look.register(kept.connection.fileno(), select.POLLIN)
    assert look.poll(5000)
    assert asked(kept, monkeypatch) == (True, ["SELECT 1"])


def test_a_request_after_the_server_ended_its_connection_is_answered(kept):
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_terminate_backend(%s, 5000)", [kept.connection.info.backend_pid])
    kept.health_check_enabled, kept.health_check_done = True, False
    with kept.cursor() as cursor:
        cursor.execute("SELECT 2")
        assert cursor.fetchone() == (2,)
