"""The only writer of enrolled tablets, and of the PINs and badges that people sign in with there."""

import datetime as dt
from dataclasses import dataclass

from django.core import signing

from orders.models import Person

from .models import Tablet

MAKER_SALT = "maker"
REPLAYED_WITHIN = dt.timedelta(days=3)
"""How old the form of an event may be that waited on a tablet without network."""


class Refused(Exception):
    """What was asked for isn't done; the message says why and what to do."""


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
        raise Refused(f"The page is more than {max_age.days} days old. Open it anew and do it again.") from None
    except (signing.BadSignature, Person.DoesNotExist, Tablet.DoesNotExist):
        raise Refused("The page doesn't say whom it was opened for. Reload it and do it again.") from None
    return RenderedFor(person, tablet)


def require_rendered_for(token, *, person):
    """Raise Refused unless the form was shown to `person`, so that nobody sends in another's name, or unseen."""
    shown = read_maker_token(token)
    if shown.person != person:
        raise Refused(
            f"This page was opened by {shown.person}, and {person} has signed in since. Look at it again; "
            f"if it is right, press again: it is then recorded for {person}."
        )


def replayed_for(token, *, tablet):
    """Who sent an event that waited on `tablet`: whoever its form was shown to there, up to three days ago, even if
    somebody else is signed in by now. Raises Refused where it was shown elsewhere, earlier, or to nobody."""
    shown = read_maker_token(token, max_age=REPLAYED_WITHIN)
    if not tablet or shown.tablet != tablet:
        raise Refused("This was entered on another tablet, or before this one was enrolled. Enter it again here.")
    return shown.person
