"""What broke and what was slow, for whoever looks after the workshop: the newest of it, and nothing of anybody."""

from django.db import models
from django.db.models import Q


class MishapQuerySet(models.QuerySet):
    def since(self, *, kind, at):
        """Of one kind since the moment `at`, the newest first."""
        return self.filter(kind=kind, at__gte=at).order_by("-pk")

    def up_to(self, pk):
        return self.filter(pk__lte=pk)


class Mishap(models.Model):
    """A request that broke, or took too long. `said` names the error and its place in our code, no data of it."""

    BROKE, SLOW = "broke", "slow"
    KINDS = ((BROKE, "Broke"), (SLOW, "Slow"))

    kind = models.CharField(max_length=5, choices=KINDS)
    at = models.DateTimeField()
    # The request's number, as the page showed it and as it stands in the log.
    number = models.CharField(max_length=64)
    route = models.CharField(max_length=60, blank=True)
    said = models.CharField(max_length=200, blank=True)
    ms = models.FloatField(null=True)
    queries = models.PositiveIntegerField(null=True)
    # How often the same address was slow since the one before it was written down, itself counted.
    times = models.PositiveIntegerField(default=1)

    objects = MishapQuerySet.as_manager()

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(kind__in=["broke", "slow"]), name="mishap_kind_is_known")]

    def __str__(self):
        return f"{self.get_kind_display()} {self.route} {self.number}"
