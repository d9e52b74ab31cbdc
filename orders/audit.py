"""The only writer of the audit: who changed and saw what, when and from where.

An entry is written in the transaction of what it tells of, so that neither stands without the other. Nothing secret is
told: no password, PIN, badge or key.
"""

import datetime as dt
import logging
import threading

from django.conf import settings
from django.db import DatabaseError
from django.utils import timezone

from .asking import asker
from .models import AuditEntry, Order

WHAT = {
    "signed-in": "signed in",
    "signed-out": "signed out",
    "not-let-in": "was not let in",
    "confirmed": "gave the password again",
    "refused": "was refused",
    "session-ended": "ended the sessions of",
    "customer-added": "entered the customer",
    "customer-changed": "changed the customer",
    "order-changed": "changed the head of",
    "line-changed": "in an order:",
    "person-added": "added",
    "person-changed": "changed what is kept of",
    "password-set": "set the password of",
    "second-step-set": "set up the second step of",
    "second-step-taken": "took away the second step of",
    "spare-codes-made": "made the spare codes of",
    "spare-code-used": "used a spare code of",
    "wrong-code": "was not let in, after the right password:",
    "pin-set": "set the PIN of",
    "pin-unlocked": "lifted the lock on the PIN of",
    "badge-given": "gave a badge to",
    "badge-taken": "took the badge of",
    "tablet-enrolled": "enrolled the tablet",
    "tablet-retired": "retired the tablet",
    "key-made": "made a key for",
    "key-revoked": "took away the key of",
    "calendar": "changed the calendar:",
    "crew": "changed crews or absences:",
    "catalogue": "in the catalogue:",
    "faults": "changed a kind of fault:",
    "saw": "saw",
    "exported": "took out",
}
"""What an entry tells of, and how it is said between whoever did it and what it was done to."""

_log = logging.getLogger(__name__)
told, _lock = set(), threading.Lock()
MOST_TOLD = 20_000
AT_ONCE = dt.timedelta(days=31)


def changed(what, *, of, before, after, by=None):
    """Write down what of two dicts of values differs; nothing where nothing does. Returns the names that differ."""
    before, after = changes(before, after)
    if before:
        did(what, of=of, before=before, after=after, by=by)
    return before.keys()


def did(what, *, of=None, kind="", thing="", words="", before=None, after=None, by=None):
    """Write down that something was done.

    `of` is what it was done to, or `kind`, `thing` and `words` name it; `before` and `after` are the values that
    changed, as JSON values. `by` is whoever did it where the request doesn't say so yet.
    """
    told = {**_who(by), **_of(of, kind, thing, words), "before": before, "after": after}
    AuditEntry(at=timezone.now(), what=_known(what), **told).save()


def did_all(what, told):
    """Write down that many things were done at once: `told` are dicts of, words, before and after; one query."""
    who, at = _who(None), timezone.now()
    entries = [
        AuditEntry(
            **who,
            at=at,
            what=_known(what),
            **_of(each["of"], "", "", each["words"]),
            before=each["before"],
            after=each["after"],
        )
        for each in told
    ]
    AuditEntry.objects.bulk_create(entries)


def once_an_hour(what, *, kind, thing="", words=""):
    """Write down that something was seen or refused: once an hour for each person or key and thing.

    Where it can't be written down, the log says so and the page is shown all the same: a full disk is no reason to send
    a workshop home.
    """
    who, now = _who(None), timezone.now()
    once = f"{_number(who['person'])} {_number(who['key'])} {_known(what)} {kind} {thing} {now:%Y-%m-%dT%H}"[:160]
    if once in told:
        return
    entry = AuditEntry(**who, at=now, what=what, **_of(None, kind, thing, words), once=once)
    try:
        AuditEntry.objects.bulk_create([entry], ignore_conflicts=True)
    except DatabaseError:
        _log.exception("the audit could not be written: %s", once)
        return
    with _lock:
        if len(told) >= MOST_TOLD:
            told.clear()
        told.add(once)


def values(model, *names):
    """The fields of `model` with these `names`, as JSON values."""
    return {name: _plain(getattr(model, name)) for name in names}


def changes(before, after):
    """The values of two dicts that differ, as two dicts."""
    names = [name for name in before if before[name] != after.get(name)]
    return {name: before[name] for name in names}, {name: after.get(name) for name in names}


def signed_in_lately(*, person, address, at):
    """Whether `person` has signed in from `address` within the last thirty days before `at`."""
    since = at - dt.timedelta(days=30)
    return AuditEntry.objects.filter(person=person, what="signed-in", address=address, at__gte=since).exists()


def wrong_codes(*, person, since):
    """How many wrong codes came after the right password of `person` since that moment."""
    return AuditEntry.objects.filter(kind="person", thing=str(person.pk), what="wrong-code", at__gt=since).count()


def forget(*, at):
    """Remove what is older than settings.AUDIT_DAYS days; returns how many entries that were.

    At most AT_ONCE from the oldest on goes, so that a machine whose clock is far ahead takes little away before that
    is noticed.
    """
    oldest = AuditEntry.objects.order_by("at").values_list("at", flat=True).first() or at
    old = AuditEntry.objects.filter(at__lt=min(at - dt.timedelta(days=settings.AUDIT_DAYS), oldest + AT_ONCE))
    return old._raw_delete(old.db)


def _who(by):
    found = asker()
    return {"person": by or found.person, "key": found.key, "tablet": found.tablet, "address": found.address}


def _of(of, kind, thing, words):
    if of is not None:
        kind, thing = kind or of._meta.model_name, thing or (of.number if isinstance(of, Order) else of.pk)
        words = words or str(of)
    return {"kind": kind, "thing": str(thing)[:60], "words": words[:200]}


def _known(what):
    if what not in WHAT:
        raise ValueError(f"The audit knows no {what!r}. It knows {', '.join(WHAT)}.")
    return what


def _plain(value):
    if isinstance(value, list | tuple):
        return [_plain(each) for each in value]
    return value if value is None or isinstance(value, bool | int | float | str) else str(value)


def _number(model):
    return model.pk if model else ""
