"""What goes wrong often enough to be counted."""

from django.db import models


class FaultKindQuerySet(models.QuerySet):
    def on_offer(self):
        """What may be chosen now, as the manager put it in order."""
        return self.filter(retired_at=None).order_by("position", "pk")

    def words(self):
        """The words of every kind of fault, those out of use too, by its key."""
        return dict(self.values_list("key", "words"))

    def with_counts(self, recorded):
        """Every kind in the manager's order with how often it was `recorded`, a dict of counts by key."""
        return [{"kind": kind, "recorded": recorded.get(kind.key, 0)} for kind in self.order_by("position", "pk")]


class FaultKind(models.Model):
    """Something that goes wrong often enough to be counted; never removed, since events name it."""

    key = models.SlugField(max_length=30, unique=True)
    words = models.CharField(max_length=60, unique=True)
    position = models.PositiveSmallIntegerField(default=0)
    retired_at = models.DateTimeField(null=True, editable=False)

    objects = FaultKindQuerySet.as_manager()

    def __str__(self):
        return self.words
