"""Who is signed in, and how often somebody tried to."""

from django.conf import settings
from django.contrib.sessions.base_session import AbstractBaseSession
from django.db import models


class SessionQuerySet(models.QuerySet):
    def of_people(self, *, at):
        """Those that are not over at `at` and that somebody is signed in with, the newest first."""
        return self.filter(expire_date__gt=at).exclude(person=None).order_by("-expire_date")


class SessionManager(models.Manager.from_queryset(SessionQuerySet)):
    """Reads each session with its person: whoever asks for the one is about to ask for the other."""

    def get_queryset(self):
        return super().get_queryset().select_related("person")


class Session(AbstractBaseSession):
    """One browser's session, with whoever is signed in with it, so that it can be shown and ended."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.CASCADE, related_name="+")

    objects = SessionManager()

    @classmethod
    def get_session_store_class(cls):
        from orders.sessions import SessionStore

        return SessionStore


class SignInTries(models.Model):
    """The tries that one name or address has used up. `until` is when all of them will be back."""

    # SHA-256, since a password is easily typed where the name belongs.
    whose = models.CharField(max_length=64, unique=True)
    until = models.DateTimeField()

    def __str__(self):
        return self.whose
