"""The people who sign in, and the second step of those who have one."""

from django.contrib.auth.models import AbstractUser
from django.core.exceptions import ValidationError
from django.db import models

from orders.roles import ROLE_NAMES, role_word

LOCKED_AFTER = 10
"""So many wrong PINs in a row, and the PIN is locked."""


def known_roles(value):
    unknown = [role for role in value if role not in ROLE_NAMES] if isinstance(value, list) else [value]
    if unknown:
        raise ValidationError(f"No such role: {', '.join(map(str, unknown))}. Choose from {', '.join(ROLE_NAMES)}.")


class Person(AbstractUser):
    """Somebody who signs in. In a small workshop one person may hold several roles."""

    roles = models.JSONField(default=list, validators=[known_roles])
    # Hashed like a password; it opens the stations alone, and only on an enrolled tablet.
    pin = models.CharField(max_length=128, blank=True, editable=False)
    wrong_pins = models.PositiveSmallIntegerField(default=0, editable=False)
    pin_waits_until = models.DateTimeField(null=True, editable=False)
    # SHA-256 of what the badge's code says, so that whoever reads the database can't print one.
    badge = models.CharField(max_length=64, null=True, unique=True, editable=False)  # noqa: DJ001 - null: many have none
    language = models.CharField(max_length=8, blank=True)
    # Somebody else set the password, and knows it: until when it lets its person in, to choose their own.
    first_password_until = models.DateTimeField(null=True, editable=False)

    class Meta:
        verbose_name_plural = "people"

    def __str__(self):
        return self.get_full_name() or self.username

    def holds(self, *roles):
        """Whether this person holds at least one of `roles`."""
        return any(role in self.roles for role in roles)

    @property
    def pin_is_locked(self):
        """Whether so many wrong PINs came in a row that a manager must lift the lock."""
        return self.wrong_pins >= LOCKED_AFTER

    @property
    def role_words(self):
        return ", ".join(role_word(role) for role in self.roles if role in ROLE_NAMES)


class SecondStep(models.Model):
    """What the codes of one person's app are made of; see orders/second_step.py."""

    person = models.OneToOneField(Person, primary_key=True, on_delete=models.CASCADE, related_name="+")
    # Base 32, as apps take it. It is kept as it is, since each code is worked out from it.
    key = models.CharField(max_length=64)
    since = models.DateTimeField()
    # The thirty seconds, counted from 1970, of the newest code that was taken.
    last_counted = models.BigIntegerField()

    def __str__(self):
        return f"second step of {self.person}"


class SpareCode(models.Model):
    """A code that stands for the app once."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="+")
    # SHA-256; a code has 120 random bits.
    digest = models.CharField(max_length=64, unique=True)

    def __str__(self):
        return f"spare code of {self.person}"
