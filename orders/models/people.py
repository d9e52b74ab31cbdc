"""The people who sign in."""

from django.contrib.auth.models import AbstractUser
from django.core.exceptions import ValidationError
from django.db import models

from orders.roles import ROLE_NAMES


def known_roles(value):
    unknown = [role for role in value if role not in ROLE_NAMES] if isinstance(value, list) else [value]
    if unknown:
        raise ValidationError(f"No such role: {', '.join(map(str, unknown))}. Choose from {', '.join(ROLE_NAMES)}.")


class Person(AbstractUser):
    """Somebody who signs in. In a small workshop one person may hold several roles."""

    roles = models.JSONField(default=list, validators=[known_roles])

    class Meta:
        verbose_name_plural = "people"

    def __str__(self):
        return self.get_full_name() or self.username

    def holds(self, *roles):
        """Whether this person holds at least one of `roles`."""
        return any(role in self.roles for role in roles)

    @property
    def role_words(self):
        return ", ".join(ROLE_NAMES[role] for role in self.roles if role in ROLE_NAMES)
