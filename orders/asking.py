"""The request that is being answered, for what is written down of who asked: person or key, tablet and address."""

from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

from django.conf import settings

_request = ContextVar("request", default=None)
LONGEST_ADDRESS = 45


@dataclass(frozen=True)
class Asker:
    """Who asks. All are empty where the server does something by itself."""

    person: object = None
    key: object = None
    tablet: str = ""
    address: str = ""


@contextmanager
def asked_by(request):
    """What is written down meanwhile was asked for by `request`."""
    token = _request.set(request)
    try:
        yield
    finally:
        _request.reset(token)


def asker():
    """Who asks at this moment, as is known by now."""
    request = _request.get()
    if request is None:
        return Asker()
    user, tablet = getattr(request, "user", None), getattr(request, "tablet", None)
    return Asker(
        person=user if user is not None and user.is_authenticated else None,
        key=getattr(request, "api_key", None),
        tablet=str(tablet) if tablet else "",
        address=address_of(request),
    )


def person_read_with_the_session():
    """Whoever was signed in with the session of the request that is being answered when it was read, or None."""
    return getattr(getattr(_request.get(), "session", None), "person", None)


def address_of(request):
    """The network address of whoever asks.

    Behind a proxy, what the proxy itself added last to X-Forwarded-For; all before it the asker may have made up.
    """
    said = request.headers.get("X-Forwarded-For", "") if settings.BEHIND_PROXY else ""
    return (said.rpartition(",")[2].strip() or request.META.get("REMOTE_ADDR", ""))[:LONGEST_ADDRESS]
