"""Where a message waits for the page that shows it: in its reader's browser, which takes no writing to the database."""

from django.conf import settings
from django.contrib.messages.storage.base import BaseStorage
from django.contrib.messages.storage.cookie import CookieStorage
from django.contrib.messages.storage.fallback import FallbackStorage
from django.contrib.messages.storage.session import SessionStorage
from django.core.signing import get_cookie_signer


class InTheBrowser(CookieStorage):
    """Django's, but signed for whoever it was said to: who signs in next on the same tablet isn't told it."""

    cookie_name = f"{settings.COOKIE_PREFIX}said"

    def __init__(self, request, *args, **kwargs):
        # Django's own signer is the same for everybody.
        BaseStorage.__init__(self, request, *args, **kwargs)

    @property
    def signer(self):
        person = getattr(self.request, "user", None)
        return get_cookie_signer(salt=f"{self.key_salt}.{person.pk if person else None}")


class InTheBrowserOrSession(FallbackStorage):
    """What is too long for a cookie waits in the session."""

    storage_classes = (InTheBrowser, SessionStorage)
