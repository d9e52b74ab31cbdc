"""A second step at sign-in: a code that an app on one's phone shows, by RFC 6238, or one of the spare codes.

The only writer of keys and spare codes. No code is good twice.
"""

import base64
import hashlib
import secrets

import pyotp
import segno
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.db import transaction
from django.utils import timezone
from pyotp.exceptions import OTPVerificationError

from . import audit
from .models import SecondStep, SpareCode
from .roles import ROLE_NAMES

if unknown := set(settings.SECOND_STEP_FOR) - set(ROLE_NAMES):
    raise ImproperlyConfigured(
        f"SECOND_STEP_FOR names {', '.join(sorted(unknown))}, which is no role. Choose from {', '.join(ROLE_NAMES)}."
    )
KEY_BYTES = 20
"""RFC 4226, 4, R6: 160 bits are recommended."""
EITHER_SIDE = 1
"""How many codes before and after that of this moment are taken, for clocks that differ by half a minute."""
SPARE_CODES, SPARE_BYTES = 8, 15


def new_key():
    """A key for an app, in base 32."""
    return base64.b32encode(secrets.token_bytes(KEY_BYTES)).decode()


def address(key, *, person):
    """What an app reads from the picture."""
    return pyotp.TOTP(key).provisioning_uri(name=person.username, issuer_name=settings.WORKSHOP_NAME)


def picture(key, *, person):
    """The address as a QR code: the length of a side in squares, and the dark ones as the path of a drawing."""
    code = segno.make_qr(address(key, person=person), error="m")
    dark = ((x, y) for y, row in enumerate(code.matrix_iter(border=4)) for x, is_dark in enumerate(row) if is_dark)
    return {"side": code.symbol_size(border=4)[0], "path": "".join(f"M{x} {y}h1v1h-1z" for x, y in dark)}


def of(person):
    """The second step of `person`, or None."""
    return SecondStep.objects.filter(person=person).first()


def is_wanted(person):
    """Whether somebody with these roles must have one."""
    return person.holds(*settings.SECOND_STEP_FOR)


@transaction.atomic
def set_up(*, person, key, typed):
    """Take `key` for `person`, whose app shows the code `typed`. Returns the spare codes; none where it doesn't fit."""
    counted = _counted(key, typed)
    if counted is None:
        return []
    given = {"key": key, "since": timezone.now(), "last_counted": counted}
    SecondStep.objects.update_or_create(person=person, defaults=given)
    audit.did("second-step-set", of=person)
    return new_spare_codes(person)


@transaction.atomic
def new_spare_codes(person):
    """Spare codes for `person`, in place of those before; they are kept as hashes and can't be shown again."""
    made = [base64.b32encode(secrets.token_bytes(SPARE_BYTES)).decode() for _ in range(SPARE_CODES)]
    SpareCode.objects.filter(person=person).delete()
    SpareCode.objects.bulk_create(SpareCode(person=person, digest=_digest(code)) for code in made)
    audit.did("spare-codes-made", of=person)
    return ["-".join(code[place : place + 4] for place in range(0, len(code), 4)) for code in made]


@transaction.atomic
def remove(person):
    """Let the password alone be enough for `person` again. Returns whether there was anything to remove."""
    SpareCode.objects.filter(person=person).delete()
    found, _ = SecondStep.objects.filter(person=person).delete()
    if found:
        audit.did("second-step-taken", of=person)
    return bool(found)


def spare_left(person):
    return SpareCode.objects.filter(person=person).count()


def is_right(*, person, typed):
    """Whether `typed` is the code of this moment or a spare one. It is used up then."""
    typed = "".join(typed.split()).replace("-", "").upper()
    if not typed.isdecimal():
        return _is_spare(person, typed)
    step = of(person)
    counted = _counted(step.key, typed) if step else None
    return counted is not None and _is_first(step, counted)


def _is_first(step, counted):
    """Uses the code of that moment up by compare-and-set, so that of two who send it at once one is let in.

    Nobody waits for a moment that lies further ahead than codes are good for: the clock was set back.
    """
    if counted <= step.last_counted <= counted + 2 * EITHER_SIDE:
        return False
    found = SecondStep.objects.filter(pk=step.pk, key=step.key, last_counted=step.last_counted)
    return bool(found.update(last_counted=counted))


def _is_spare(person, typed):
    gone, _ = SpareCode.objects.filter(person=person, digest=_digest(typed)).delete()
    if gone:
        audit.did("spare-code-used", of=person, by=person)
    return bool(gone)


def _counted(key, typed):
    """The thirty seconds of the code, counted from 1970; None where it is not of about now."""
    try:
        return pyotp.TOTP(key).verify_and_get_timecode(
            "".join(typed.split()), for_time=timezone.now(), valid_window=EITHER_SIDE
        )
    except OTPVerificationError:
        return None


def _digest(code):
    return hashlib.sha256(code.encode()).hexdigest()
