"""The only writer of enrolled tablets, and of the PINs and badges that people sign in with there.

A PIN is short, so tries are counted before they are looked at: many at once can't all be looked at. A badge says 26
random digits, 86 bits.
"""

import datetime as dt
import hashlib
import re
import secrets
from dataclasses import dataclass
from itertools import pairwise

from django.conf import settings
from django.contrib.auth.hashers import check_password, make_password
from django.core import signing
from django.db import IntegrityError, transaction

from orders import audit, sessions
from orders.models import Person
from orders.models.people import LOCKED_AFTER
from orders.roles import CHECKER, MAKER
from orders.throttle import CLOCKS_DIFFER, in_words

from . import codes, route
from .models import Tablet
from .words import _

COOKIE = f"{settings.COOKIE_PREFIX}tablet"
COOKIE_AGE = dt.timedelta(days=400)
"""As long as browsers keep a cookie: RFC 6265bis, 5.5. It is given anew at each sign-in."""

PIN_DIGITS = (4, 8)
WAITS_AFTER = 3
"""So many wrong PINs in a row, and the person's PIN waits, each time twice as long, until it is locked."""
FIRST_WAIT = dt.timedelta(seconds=10)

TABLET_TRIES = 10
TRY_BACK_AFTER = dt.timedelta(minutes=1)
"""Wrong tries, by PIN or badge and whoever's, that a tablet has; each comes back after a while."""

MAKER_SALT = "maker"
REPLAYED_WITHIN = dt.timedelta(days=3)
"""How old the form of an event may be that waited on a tablet without network."""


class Refused(Exception):
    """What was asked for isn't done; the message says why and what to do."""


# Tablets


def known(secret):
    """The tablet in use whose cookie says `secret`, or None."""
    return Tablet.objects.filter(secret=_sha256(secret), retired_at=None).first() if secret else None


def enrol(*, name, station, by, at):
    """Let a tablet in at `station`; returns it and the secret for its cookie, which is kept nowhere else.

    The name of a retired tablet may be given again: it is the same tablet then, with a new secret. Raises Refused for
    a name in use.
    """
    secret = secrets.token_urlsafe(32)
    given = {"station": station, "secret": _sha256(secret), "enrolled_by": by, "enrolled_at": at, "retired_at": None}
    try:
        with transaction.atomic():
            if not Tablet.objects.filter(name=name).exclude(retired_at=None).update(**given):
                Tablet.objects.create(name=name, **given)
            enrolled = Tablet.objects.get(name=name)
            audit.did("tablet-enrolled", of=enrolled, after={"station": station}, by=by)
    except IntegrityError:
        raise Refused(f"{name} is in use already. Choose another name, or retire that tablet first.") from None
    return enrolled, secret


def retire(*, tablet, at):
    """From now on the cookie of `tablet` is worth nothing, and whoever signed in on it is signed out."""
    with transaction.atomic():
        if Tablet.objects.filter(pk=tablet.pk, retired_at=None).update(retired_at=at):
            audit.did("tablet-retired", of=tablet)


# PINs and badges: who has them


def may_have(person):
    """Whether a PIN or a badge is any use to `person`: it opens the stations alone."""
    return person.is_active and person.holds(MAKER, CHECKER)


def people():
    """Everybody who may have a PIN or a badge, by name."""
    return sorted(filter(may_have, Person.objects.filter(is_active=True)), key=lambda found: str(found).casefold())


def people_at(tablet):
    """Who signs in on `tablet` with a PIN: those of them who work at its station and have one."""
    return [found for found in people() if found.pin and found.holds(*route.STATION[tablet.station].roles)]


def pin_problem(pin):
    """What is wrong with `pin` as one to choose, or nothing."""
    least, most = PIN_DIGITS
    if not re.fullmatch(rf"[0-9]{{{least},{most}}}", pin):
        return _("A PIN has {least} to {most} digits and nothing else.", least=least, most=most)
    steps = {(int(after) - int(before)) % 10 for before, after in pairwise(pin)}
    repeats = any(pin == pin[:length] * (len(pin) // length) for length in range(1, len(pin) // 2 + 1))
    if repeats or steps in ({1}, {9}):
        return _("That PIN is among the first that anybody would try. Choose one without a repeat or a run.")
    return ""


def set_pin(*, person, pin):
    """Give `person` this PIN, and lift a lock on the one before. Raises Refused for an obvious one."""
    _require_may_have(person)
    if problem := pin_problem(pin):
        raise Refused(problem)
    with transaction.atomic():
        Person.objects.filter(pk=person.pk).update(pin=make_password(pin), wrong_pins=0, pin_waits_until=None)
        _told("pin-set", person)


@transaction.atomic
def lift_lock(*, person):
    """Forget the wrong PINs of `person`, whom a manager has asked."""
    _forget_wrong_pins(person)
    audit.did("pin-unlocked", of=person)


def new_badge(*, person):
    """What the new badge of `person` says; it is told this once. The badge before is worth nothing from now on."""
    _require_may_have(person)
    code = codes.badge_code(secrets.randbelow(codes.BADGES))
    with transaction.atomic():
        Person.objects.filter(pk=person.pk).update(badge=_sha256(code))
        _told("badge-given", person)
    return code


def take_badge(*, person):
    """The badge of `person` is worth nothing from now on."""
    with transaction.atomic():
        Person.objects.filter(pk=person.pk).update(badge=None)
        _told("badge-taken", person)


def _told(what, person):
    """Whoever signed in with what was true before is signed out."""
    audit.did(what, of=person)
    sessions.end(person=person, bench_only=True)


def _forget_wrong_pins(person):
    Person.objects.filter(pk=person.pk).update(wrong_pins=0, pin_waits_until=None)


def _require_may_have(person):
    if not may_have(person):
        raise Refused(
            _("{person} is neither maker nor checker, and a PIN or a badge opens the stations alone.", person=person)
        )


# Signing in


def sign_in_by_pin(*, tablet, person_pk, pin, at):
    """The person who signs in on `tablet` at `at`; raises Refused with what to do, and for how long to wait."""
    person = next((found for found in people_at(tablet) if found.pk == person_pk), None)
    if person is None:
        raise Refused(_("Touch your name first, then type your PIN."))
    if not re.fullmatch("[0-9]+", pin):
        raise Refused(_("Type the PIN of {person}: digits only.", person=person))
    _take_try(tablet, at=at)
    try:
        tried = _count_try(person, at=at)
    except Refused:
        _give_back_try(tablet)
        raise
    if not check_password(pin, person.pin):
        raise Refused(_("That is not the PIN of {person}. {advice}", person=person, advice=_what_next(tried)))
    _give_back_try(tablet)
    _forget_wrong_pins(person)
    return person


def sign_in_by_badge(*, tablet, code, at):
    """The person whose badge says `code`; raises Refused for one that is unknown or taken out of use.

    A lock on the person's PIN doesn't hold the badge up: it guards against guesses, and nobody guesses 86 bits.
    """
    badge = codes.badge_on(code)
    if badge is None:
        raise Refused(_("That is no badge. Scan the badge's own code."))
    _take_try(tablet, at=at)
    person = Person.objects.filter(badge=_sha256(badge), is_active=True).first()
    if person is None:
        raise Refused(_("This badge isn't known here. Scan it again; if it is an old one, ask a manager for another."))
    _give_back_try(tablet)
    _require_may_have(person)
    return person


def _count_try(person, *, at):
    """Count one more wrong PIN of `person` before it is looked at; how many that makes. Raises Refused to wait."""
    while True:
        person.refresh_from_db(fields=["pin", "wrong_pins", "pin_waits_until"])
        if person.wrong_pins >= LOCKED_AFTER:
            advice = _what_next(person.wrong_pins)
            raise Refused(_("The PIN of {person} is locked. {advice}", person=person, advice=advice))
        # A wait that is longer than any was given while the clock was ahead.
        longest = at + wait_after(person.wrong_pins) + CLOCKS_DIFFER
        if person.pin_waits_until and at < person.pin_waits_until <= longest:
            advice = _wait(person.pin_waits_until - at)
            raise Refused(_("Too many wrong PINs for {person}. {advice}", person=person, advice=advice))
        tried = person.wrong_pins + 1
        seen = Person.objects.filter(pk=person.pk, wrong_pins=person.wrong_pins)
        if seen.update(wrong_pins=tried, pin_waits_until=at + wait_after(tried)):
            return tried


def wait_after(wrong):
    """How long a PIN waits after so many wrong ones in a row."""
    return FIRST_WAIT * 2 ** (wrong - WAITS_AFTER) if wrong >= WAITS_AFTER else dt.timedelta()


def _what_next(wrong):
    if wrong >= LOCKED_AFTER:
        return _("Scan the badge, or ask a manager to lift the lock.")
    return _wait(wait_after(wrong)) if wrong >= WAITS_AFTER else _("Try again, or scan the badge.")


def _wait(left):
    return _("Wait {left}, then try again, or scan the badge.", left=in_words(left))


def _take_try(tablet, *, at):
    """Use up one of the tablet's tries, or raise Refused where none is left. `tries_until` is when all will be back."""
    while True:
        tablet = Tablet.objects.get(pk=tablet.pk)
        used, most = max((tablet.tries_until or at) - at, dt.timedelta()), TRY_BACK_AFTER * TABLET_TRIES
        if used > most + CLOCKS_DIFFER:
            # More than all of them were used up while the clock was ahead.
            used = dt.timedelta()
        until = at + used + TRY_BACK_AFTER
        if until - at > most:
            left = in_words(until - at - most)
            raise Refused(_("Too many wrong tries on this tablet. Wait {left}, then try again.", left=left))
        if Tablet.objects.filter(pk=tablet.pk, tries_until=tablet.tries_until).update(tries_until=until):
            return


def _give_back_try(tablet):
    while True:
        until = Tablet.objects.get(pk=tablet.pk).tries_until
        seen = Tablet.objects.filter(pk=tablet.pk, tries_until=until)
        if until is None or seen.update(tries_until=until - TRY_BACK_AFTER):
            return


def _sha256(text):
    return hashlib.sha256(text.encode()).hexdigest()


# Whom a form was shown to


@dataclass(frozen=True)
class RenderedFor:
    """Whom a form was shown to, and on which enrolled tablet, if on any."""

    person: Person
    tablet: Tablet | None


def maker_token(*, person, tablet=None):
    """What a form carries of the person whom it is shown to and the tablet that shows it: signed, with the time."""
    return signing.dumps([person.pk, tablet.pk if tablet else None], salt=MAKER_SALT)


def read_maker_token(token, *, max_age=None):
    """Whom a form was rendered for; raises Refused for a token that is missing, altered, or older than `max_age`."""
    try:
        person_pk, tablet_pk = signing.loads(token, salt=MAKER_SALT, max_age=max_age)
        person = Person.objects.get(pk=person_pk, is_active=True)
        tablet = Tablet.objects.get(pk=tablet_pk) if tablet_pk else None
    except signing.SignatureExpired:
        raise Refused(
            _("The page is more than {days} days old. Open it anew and do it again.", days=max_age.days)
        ) from None
    except (signing.BadSignature, Person.DoesNotExist, Tablet.DoesNotExist):
        raise Refused(_("The page doesn't say whom it was opened for. Reload it and do it again.")) from None
    return RenderedFor(person, tablet)


def require_rendered_for(token, *, person, tablet=None):
    """Raise Refused unless the form was shown to `person`, so that nobody sends in another's name, or unseen.

    `tablet` is the one that sends it, if any: where both are those of the form, nothing need be looked up.
    """
    try:
        if signing.loads(token, salt=MAKER_SALT) == [person.pk, tablet.pk if tablet else None]:
            return
    except signing.BadSignature:
        # Said below.
        pass
    shown = read_maker_token(token)
    if shown.person != person:
        raise Refused(
            _(
                "This page was opened by {before}, and {person} has signed in since. Look at it again; "
                "if it is right, press again: it is then recorded for {person}.",
                before=shown.person,
                person=person,
            )
        )


def replayed_for(token, *, tablet):
    """Who sent an event that waited on `tablet`: whoever its form was shown to there, up to three days ago, even if
    somebody else is signed in by now. Raises Refused where it was shown elsewhere, earlier, or to nobody."""
    shown = read_maker_token(token, max_age=REPLAYED_WITHIN)
    if not tablet or shown.tablet != tablet:
        raise Refused(_("This was entered on another tablet, or before this one was enrolled. Enter it again here."))
    return shown.person
