"""Forms that write once: the key that a form carries, and the only writer of which keys were taken."""

import datetime as dt
import uuid

from orders.models import SentForm

KEPT = dt.timedelta(days=60)
"""How long a key is remembered; a page that has stood open for longer writes as if it were new."""


def new_key():
    return str(uuid.uuid4())


def read_key(text):
    """The key that a form sent, or None where it sent none that is one."""
    try:
        return uuid.UUID(str(text))
    except ValueError:
        return None


def key_of(sent):
    """The key of a form and of what it says, or None where it carries none.

    Gone back to and changed, a form is another one and writes again.
    """
    carried = read_key(sent.get("form_id"))
    said = sorted((name, sent.getlist(name)) for name in sent if name != "csrfmiddlewaretoken")
    return uuid.uuid5(carried, repr(said)) if carried else None


def taken(key):
    """What the form of `key` wrote, or None where it wasn't taken yet. Ask while holding the order's row."""
    return SentForm.objects.filter(pk=key).first() if key else None


def take(key, *, order, at, position=None):
    """Remember that the form of `key` was taken, in the transaction that writes what it says."""
    if key:
        SentForm.objects.filter(at__lt=at - KEPT).delete()
        SentForm.objects.create(key=key, order=order, position=position, at=at)
