"""How often somebody may try to sign in with a password: the only writer of the tries that are used up.

A try is counted before it is looked at, by compare-and-set, so that many at once can't all be looked at. Each comes
back after a while, so that nobody is locked out for good, whoever tries in their name.
"""

import datetime as dt
import hashlib
import math
from dataclasses import dataclass

from django.db import IntegrityError, transaction
from django.utils.translation import gettext, ngettext

from .models import SignInTries


@dataclass(frozen=True)
class Limit:
    """So many wrong tries at once, each of which comes back after `back_after`."""

    of: str
    tries: int
    back_after: dt.timedelta


HERE = Limit("name and address", 5, dt.timedelta(minutes=1))
ADDRESS = Limit("address", 30, dt.timedelta(seconds=20))
NAME = Limit("name", 50, dt.timedelta(minutes=2))
"""One name from one address; one address with any names; one name from anywhere, save from where it signs in."""
CODE = Limit("code", 10, dt.timedelta(minutes=15))
"""Codes after one person's right password, from anywhere. Three of a million are right at any time: who tries at all of
them for a year finds one with a probability of a tenth, and each try is on record."""


CLOCKS_DIFFER = dt.timedelta(minutes=1)
"""By so much may the clocks of machines differ; and of what comes at once, the first may be counted last. Only what
lies further ahead than that was used up while a clock was wrong."""


class HeldUp(Exception):
    """Too many wrong tries. `wait` is for how long; the message says so."""

    def __init__(self, wait):
        said = gettext("Too many wrong tries. Wait {left}, then try again.")
        super().__init__(said.format(left=in_words(wait)))
        self.wait = wait


def take(*, name, address, is_known_there, at):
    """Use up one try at the password of `name` from `address`; returns what `give_back` takes. Raises HeldUp.

    `is_known_there()` says whether that person has signed in from there lately: then tries from elsewhere don't hold
    them up.
    """
    name, taken = name.casefold(), []
    for limit, whose in ((HERE, f"{address} {name}"), (ADDRESS, address), (NAME, name)):
        wait = _take(limit, whose, at=at)
        if wait is None:
            taken.append((limit, whose))
        elif limit is not NAME or not is_known_there():
            give_back(taken)
            raise HeldUp(wait)
    return taken


def take_code(*, person, at):
    """Use up one try at a code of `person`, whose password was right; returns what `give_back` takes. Raises HeldUp."""
    wait = _take(CODE, str(person.pk), at=at)
    if wait is not None:
        raise HeldUp(wait)
    return [(CODE, str(person.pk))]


def give_back(taken):
    """It was right: what was taken for it counts for nothing."""
    for limit, whose in taken:
        row = SignInTries.objects.filter(whose=_key(limit, whose)).first()
        if row:
            SignInTries.objects.filter(pk=row.pk, until=row.until).update(until=row.until - limit.back_after)


def forget(*, at):
    """Remove what has all its tries back; returns how many that were."""
    return SignInTries.objects.filter(until__lt=at).delete()[0]


def in_words(wait):
    """A wait as people say it, never too short, in the reader's language."""
    seconds = math.ceil(wait.total_seconds())
    if seconds > 90:
        minutes = math.ceil(seconds / 60)
        return ngettext("{count} minute", "{count} minutes", minutes).format(count=minutes)
    return ngettext("{count} second", "{count} seconds", seconds).format(count=seconds)


def _take(limit, whose, *, at):
    """None where a try was taken, else for how long to wait."""
    key, most = _key(limit, whose), limit.back_after * limit.tries
    while True:
        row = SignInTries.objects.filter(whose=key).first()
        used = max(row.until - at, dt.timedelta()) if row else dt.timedelta()
        if used > most + CLOCKS_DIFFER:
            # More than all of them were used up while the clock was ahead: nobody waits for that.
            used = dt.timedelta()
        if used + limit.back_after > most:
            return used + limit.back_after - most
        if _set(key, row, at + used + limit.back_after):
            return None


def _set(key, row, until):
    if row:
        return SignInTries.objects.filter(pk=row.pk, until=row.until).update(until=until)
    try:
        with transaction.atomic():
            SignInTries.objects.create(whose=key, until=until)
    except IntegrityError:
        return 0
    return 1


def _key(limit, whose):
    return hashlib.sha256(f"{limit.of}: {whose}".encode()).hexdigest()
