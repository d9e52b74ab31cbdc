"""A password that somebody else set: it lets its person in once, to choose their own and for nothing else.

The only writer of until when it is good.
"""

import datetime as dt

from django.utils import timezone
from django.utils.translation import gettext

from . import audit, sessions

GOOD_FOR = dt.timedelta(days=3)
AFTER_SIGNING_IN = dt.timedelta(hours=1)
"""How long it is good until somebody signs in with it; and from then on, so that a lost page can be had again."""


def give(person):
    """The password of `person` was just set by somebody else: it is good for a first sign-in. Saves."""
    person.first_password_until = timezone.now() + GOOD_FOR
    person.save(update_fields=["first_password_until"])
    audit.did("password-set", of=person, after={"for_a_first_sign_in_until": f"{person.first_password_until:%Y-%m-%d}"})
    sessions.end(person=person)


def choose(person, *, session_key):
    """`person` has just chosen their own password: it ends every session but this one. Saves."""
    person.first_password_until = None
    person.save(update_fields=["first_password_until"])
    audit.did("password-set", of=person)
    sessions.end(person=person, but=session_key)


def use(person):
    """`person` has just signed in. With a first password, little time is left to choose their own. Saves."""
    if person.first_password_until:
        person.first_password_until = min(person.first_password_until, timezone.now() + AFTER_SIGNING_IN)
        person.save(update_fields=["first_password_until"])


def refusal(person):
    """Why the password of `person` lets nobody in any more, in the reader's language; nothing where it does."""
    until = person.first_password_until
    if not until or timezone.now() <= until:
        return ""
    return gettext(
        "That password was for a first sign-in, and its time is over. Ask an administrator to set another; then choose "
        "your own within three days."
    )
