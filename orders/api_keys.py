"""The only writer of the keys that other programs ask with, and of the record of what they posted."""

import datetime as dt
import hashlib
import json
import math
import secrets
import threading

from django.db import IntegrityError, transaction

from orders import audit
from orders.models import ApiKey, PostedOrder
from orders.throttle import CLOCKS_DIFFER

BEGINS = "rw_"
PER_MINUTE, AT_ONCE = 120, 60
"""Requests of one key: so many a minute in the long run, and so many at once after a rest."""
MOST_AHEAD, KEPT_AHEAD = 20, dt.timedelta(minutes=1)
_ahead, _lock = {}, threading.Lock()


class Refused(Exception):
    """What was asked for isn't done; the message says why and what to do."""


class Revoked(Exception):
    """The key was taken away."""


class Reused(Exception):
    """The idempotency key was used for another order; `posted` is that one."""

    def __init__(self, posted):
        super().__init__(str(posted))
        self.posted = posted


def make(*, name, scopes, every_customer, customers, by, at):
    """A new key; returns it and its secret, which is kept nowhere else. Raises Refused for a name that was used."""
    secret = BEGINS + secrets.token_urlsafe(32)
    try:
        with transaction.atomic():
            key = ApiKey.objects.create(
                name=name,
                secret=_sha256(secret),
                scopes=scopes,
                every_customer=every_customer,
                made_by=by,
                made_at=at,
            )
            key.customers.set([] if every_customer else customers)
            whose = "every customer" if every_customer else [str(customer) for customer in customers]
            audit.did("key-made", of=key, after={"scopes": scopes, "customers": whose}, by=by)
    except IntegrityError:
        raise Refused(f"There is or was a key {name}. Choose another name, so that the two are told apart.") from None
    return key, secret


def revoke(*, key, by, at):
    """From now on `key` opens nothing. A key that was revoked already stays as it was."""
    with transaction.atomic():
        if ApiKey.objects.in_use().filter(pk=key.pk).update(revoked_by=by, revoked_at=at):
            audit.did("key-revoked", of=key, by=by)


def known(secret):
    """The key in use with this secret, or None. Looked up by its hash, so that no time tells how near a guess was."""
    return ApiKey.objects.in_use().filter(secret=_sha256(secret)).first()


def take_turn(*, key, at):
    """Count one request of `key`; returns 0, or after how many whole seconds the next one is free.

    A request that has to wait is not counted. Turns are taken ahead and kept in this process for a minute, so that a
    program that asks now and then writes once a minute; what isn't used by then is lost, and never more are given out
    than PER_MINUTE and AT_ONCE over all processes. Raises Revoked for a key that was taken away meanwhile.
    """
    with _lock:
        taken_at, left = _ahead.get(key.secret, (None, 0))
        if left and taken_at <= at < taken_at + KEPT_AHEAD:
            _ahead[key.secret] = taken_at, left - 1
            return 0
    taken, wait = _take_ahead(key=key, at=at)
    if taken:
        with _lock:
            _ahead[key.secret] = at, taken - 1
    return wait


@transaction.atomic
def _take_ahead(*, key, at):
    """How many turns were taken, half of what is free and at least one, and how many seconds to wait for none."""
    key = _held(key)
    each = dt.timedelta(minutes=1) / PER_MINUTE
    until = max(key.turns_until or at, at)
    if until > at + AT_ONCE * each + CLOCKS_DIFFER:
        # More than all of them were taken while the clock was ahead.
        until = at
    free = (at + AT_ONCE * each - until) // each
    if free < 1:
        return 0, math.ceil((until + each - at - AT_ONCE * each).total_seconds())
    taken = max(1, min(MOST_AHEAD, free // 2))
    key.turns_until, key.last_used_at = until + taken * each, at
    key.save(update_fields=["turns_until", "last_used_at"])
    return taken, 0


@transaction.atomic
def once(*, key, idempotency_key, body, write, at):
    """What `write()` answers, written at most once for this idempotency key; returns the PostedOrder and whether it
    was there already.

    `body` is what was posted, as JSON values; `write` returns the order and its answer as text, or raises: then nothing
    is kept and the idempotency key stays free. The posts of one key are taken one after the other, so that the same one
    sent twice at once finds the other's answer. Raises Reused for another body, and Revoked.
    """
    key = _held(key)
    digest = _sha256(json.dumps(body, sort_keys=True, default=str))
    if found := PostedOrder.objects.under(key=key, idempotency_key=idempotency_key):
        if found.digest != digest:
            raise Reused(found)
        return found, True
    order, answer = write()
    posted = PostedOrder.objects.create(
        key=key, idempotency_key=idempotency_key, digest=digest, order=order, answer=answer, at=at
    )
    return posted, False


def _held(key):
    """`key` as it is now, held until the transaction ends; what merely points to it is not kept waiting."""
    found = ApiKey.objects.in_use().select_for_update(no_key=True).filter(pk=key.pk).first()
    if found is None:
        raise Revoked
    return found


def _sha256(text):
    return hashlib.sha256(text.encode()).hexdigest()
