"""What is on record is never changed, and kept as long as is said."""

import datetime as dt

import pytest
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction
from django.utils import timezone

from orders import audit
from orders.models import AuditEntry, Person
from orders.models.audit import AppendOnly
from tests import factories

pytestmark = pytest.mark.django_db


def entry():
    audit.did("calendar", kind="closure", thing=1, words="Summer")
    return AuditEntry.objects.get()


@pytest.mark.parametrize(
    "break_it",
    [
        lambda found: found.save(),
        lambda found: found.delete(),
        lambda found: AuditEntry.objects.update(words="nothing"),
        lambda found: AuditEntry.objects.all().delete(),
        lambda found: AuditEntry.objects.filter(pk=found.pk).bulk_update([found], ["words"]),
    ],
    ids=["save", "delete", "update", "delete all", "bulk update"],
)
def test_no_entry_is_changed_or_removed(break_it):
    with pytest.raises(AppendOnly):
        break_it(entry())


def test_the_database_itself_lets_none_be_changed():
    entry()
    with pytest.raises(DatabaseError, match="never changed"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE orders_auditentry SET words = 'nothing'")


@pytest.mark.skipif("connection.vendor != 'postgresql'", reason="SQLite's own file is open to whoever may write it")
def test_nor_removed_on_postgresql():
    entry()
    with pytest.raises(DatabaseError, match="is kept"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("DELETE FROM orders_auditentry")


def test_what_is_old_enough_goes_and_nothing_else(settings, monkeypatch, capsys):
    now = timezone.now()
    for days in (401, 399):
        monkeypatch.setattr("django.utils.timezone.now", lambda days=days: now - dt.timedelta(days=days))
        audit.did("calendar", kind="closure", thing=days)
    monkeypatch.setattr("django.utils.timezone.now", lambda: now)
    call_command("tidy")
    assert [entry.thing for entry in AuditEntry.objects.all()] == ["399"]
    assert "1 entries of the audit were old enough to go" in capsys.readouterr().out


def test_a_clock_far_ahead_takes_a_month_of_it_at_once_and_no_more(monkeypatch):
    now = timezone.now()
    for days in range(0, 300, 10):
        monkeypatch.setattr("django.utils.timezone.now", lambda days=days: now - dt.timedelta(days=days))
        audit.did("calendar", kind="closure", thing=days)
    ten_years = now + dt.timedelta(days=3650)
    # An entry of the wrong day, as signing in then would leave one, changes nothing.
    monkeypatch.setattr("django.utils.timezone.now", lambda: ten_years)
    audit.did("calendar", kind="closure", thing="ahead")
    assert audit.forget(at=ten_years) == 4
    left = [entry.thing for entry in AuditEntry.objects.order_by("at")]
    assert left == [str(days) for days in range(250, -1, -10)] + ["ahead"]
    assert audit.forget(at=now) == 0
    assert audit.forget(at=ten_years) == 4


def test_the_audit_refuses_a_word_that_it_doesn_t_know():
    with pytest.raises(ValueError, match="knows no 'danced'"):
        audit.did("danced")


def test_a_person_with_entries_can_t_be_removed():
    nora = factories.person("sales", name="nora")
    audit.did("saw", kind="order", thing=1042, words="order 1042", by=nora)
    with pytest.raises(DatabaseError):
        Person.objects.filter(pk=nora.pk).delete()
