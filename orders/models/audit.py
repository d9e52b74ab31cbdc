"""What was changed and seen, by whom, and from where."""

from django.conf import settings
from django.db import models

from .api_keys import ApiKey


class AppendOnly(TypeError):
    """An entry of the audit was to be changed or removed."""


class AuditQuerySet(models.QuerySet):
    def update(self, **fields):
        raise AppendOnly("An entry of the audit is never changed.")

    def delete(self):
        raise AppendOnly("An entry of the audit is removed by its age alone, with orders.audit.forget.")

    def bulk_update(self, objs, fields, batch_size=None):
        self.update()

    def newest_first(self):
        return self.select_related("person", "key").order_by("-at", "-pk")

    def sought(self, *, person=None, order=None, first=None, end=None):
        """Those by or of `person`, of the order with that number, and from `first` up to before `end`."""
        found = self
        if person is not None:
            found = found.filter(models.Q(person=person) | models.Q(kind="person", thing=str(person.pk)))
        if order is not None:
            found = found.filter(kind="order", thing=str(order))
        if first is not None:
            found = found.filter(at__gte=first, at__lt=end)
        return found


class AuditEntry(models.Model):
    """One thing that was done or seen. Neither changed nor removed, until it is older than what is kept."""

    at = models.DateTimeField(db_index=True)
    # Neither of the two: the server itself, or somebody who isn't signed in.
    person = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    key = models.ForeignKey(ApiKey, null=True, on_delete=models.PROTECT, related_name="+")
    tablet = models.CharField(max_length=40, blank=True)
    address = models.CharField(max_length=45, blank=True)
    what = models.CharField(max_length=20)
    # What it was done to or seen of: "order" and its number, "person" and their number; and as people call it.
    kind = models.CharField(max_length=20, blank=True)
    thing = models.CharField(max_length=60, blank=True)
    words = models.CharField(max_length=200, blank=True)
    before = models.JSONField(null=True)
    after = models.JSONField(null=True)
    # What stands once an hour however often it was done: who, what, of what, and the hour.
    once = models.CharField(max_length=160, null=True, unique=True)  # noqa: DJ001 - null: most are told each time

    objects = AuditQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["person", "-at"], name="audit_by_person"),
            models.Index(fields=["kind", "thing", "-at"], name="audit_of_thing"),
        ]

    def __str__(self):
        return f"{self.what} {self.kind} {self.thing}".strip()

    def save(self, *args, **kwargs):
        if self.pk:
            raise AppendOnly("An entry of the audit is never changed.")
        super().save(*args, **kwargs)

    def delete(self, *args, **kwargs):
        raise AppendOnly("An entry of the audit is removed by its age alone, with orders.audit.forget.")
