"""Where sessions are kept (settings.SESSION_ENGINE): in the database, with who is signed in and since when.

The only reader and ender of other people's sessions.
"""

import datetime as dt

from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore as DatabaseStore
from django.db import connection, transaction
from django.utils import timezone

from .compiled import Compiled
from .roles import BENCH

BEGUN, DONE, CONFIRMED, ADDRESS = "begun", "done", "confirmed", "address"
"""In a session: when it began, when something was done last, when the password was given again, each in seconds since
1970; and from where it began."""
SECOND = "second step"
"""In a session that was begun with a second step, or in which one was set up."""
LONGEST_S = 12 * 3600
"""However busy, so long after it began a session is over."""
NOTED_EVERY_S = 300
"""How exactly it is known when something was done last."""


@Compiled
def _with_key(key):
    return SessionStore.get_model_class().objects.filter(session_key=key)


class SessionStore(DatabaseStore):
    person = None
    """Whoever was signed in with it when it was read."""

    @classmethod
    def get_model_class(cls):
        from orders.models import Session

        return Session

    def load(self):
        now = timezone.now()
        found = next((each for each in _with_key(self.session_key) if each.expire_date > now), None)
        if found is None:
            self._session_key = None
            return {}
        self.person = found.person
        return self.decode(found.session_data)

    def save(self, must_create=False):
        """Where it is a transaction of its own, nobody waits until it is on the disk: whose session is lost with the
        power signs in again. An event that goes with it in one transaction is never lost so."""
        if connection.vendor != "postgresql" or connection.in_atomic_block:
            return super().save(must_create)
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET LOCAL synchronous_commit TO off")
            super().save(must_create)

    def create_model_instance(self, data):
        if SESSION_KEY in data:
            data.setdefault(BEGUN, _now())
        made = super().create_model_instance(data)
        made.person_id = data.get(SESSION_KEY)
        return made


def begin(request, *, address):
    """Note in a session in which somebody has just signed in when and from where that was."""
    now = _now()
    request.session.update({BEGUN: now, DONE: now, ADDRESS: address})
    request.session.pop(CONFIRMED, None)


def is_over(session):
    """Whether somebody is signed in with `session`, and has been for as long as anybody may."""
    return SESSION_KEY in session and _now() - session.get(BEGUN, 0) > LONGEST_S


def note_act(session):
    """Something was done just now: the session's idle time counts from here on."""
    now = _now()
    if SESSION_KEY in session and now - session.get(DONE, 0) > NOTED_EVERY_S:
        session[DONE] = now


def confirmed_ago(session):
    """How many seconds ago whoever is signed in with `session` gave the password."""
    return _now() - max(session.get(CONFIRMED, 0), session.get(BEGUN, 0))


def confirm(session):
    """The password was given again just now; the session goes on under another number."""
    session.cycle_key()
    session[CONFIRMED] = _now()


def signed_in(*, at, person=None):
    """The sessions in use at `at`, of `person` or of everybody: dicts of person, since, last, address, bench, key."""
    found = SessionStore.get_model_class().objects.of_people(at=at)
    return [_said(session) for session in (found if person is None else found.filter(person=person))]


def end(*, person, but=None, bench_only=False):
    """End the sessions of `person`, save the one with the key `but`; or only those begun with a PIN or badge."""
    found = SessionStore.get_model_class().objects.filter(person=person).exclude(session_key=but)
    keys = [each.session_key for each in found if not bench_only or BENCH in each.get_decoded()]
    return found.filter(session_key__in=keys).delete()[0]


def _said(session):
    data = session.get_decoded()
    begun = data.get(BEGUN, 0)
    return {
        "person": session.person,
        "key": session.session_key,
        "since": _moment(begun),
        "last": _moment(data.get(DONE, begun)),
        "address": data.get(ADDRESS, ""),
        "bench": data.get(BENCH),
        "second": SECOND in data,
    }


def _now():
    return int(timezone.now().timestamp())


def _moment(seconds):
    return dt.datetime.fromtimestamp(seconds, tz=timezone.get_default_timezone())
