"""From a right password to a session, by way of the second step where somebody has one."""

from django.contrib.auth import login
from django.utils import timezone
from django.utils.crypto import constant_time_compare

from . import audit, first_password, sessions
from .asking import address_of
from .models import Person

HALFWAY = "halfway"
"""In a session that is nobody's yet: who has given the right password, when, and where they want to go."""
HALFWAY_S = 10 * 60
IDLE_ON_A_TABLET_S = 60 * 60
"""On a wall that everybody passes, a session begun with a password is over so long after what was done last."""


def halfway(request, person, *, wanted):
    """`person` has given the right password, and the code is still wanted: nobody is signed in."""
    request.session.cycle_key()
    request.session[HALFWAY] = {
        "person": person.pk,
        "password": person.get_session_auth_hash(),
        "at": _now(),
        "wanted": wanted,
    }


def who_is_halfway(request):
    """Who gave the right password within ten minutes and where they want to go; None where nobody did, or where the
    person may not sign in or has another password since."""
    given = request.session.get(HALFWAY)
    if given is None or not 0 <= _now() - given["at"] <= HALFWAY_S:
        return None, ""
    person = Person.objects.filter(pk=given["person"], is_active=True).first()
    if person is None or not constant_time_compare(person.get_session_auth_hash(), given["password"]):
        return None, ""
    return person, given["wanted"]


def enter(request, person, *, second=False):
    """Begin the session of `person`. Returns how many wrong codes came after their right password since the last."""
    before = person.last_login
    request.session.pop(HALFWAY, None)
    login(request, person)
    sessions.begin(request, address=address_of(request))
    audit.did("signed-in", of=person, by=person, words=f"{person}, by password and code" if second else "")
    first_password.use(person)
    if request.tablet:
        request.session.set_expiry(IDLE_ON_A_TABLET_S)
    if not second:
        return 0
    request.session[sessions.SECOND] = True
    return audit.wrong_codes(person=person, since=before) if before else 0


def _now():
    return int(timezone.now().timestamp())
