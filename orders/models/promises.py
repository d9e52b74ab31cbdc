"""Promised days as they were given to customers."""

from django.conf import settings
from django.db import models


class PromiseGivenQuerySet(models.QuerySet):
    def with_person(self):
        return self.select_related("by").order_by("-pk")


class PromiseGiven(models.Model):
    """Somebody promised a day, with the plan of that moment in view. Only ever added.

    `earliest` is the earliest day that the plan could keep then, None where it could keep none in sight. `makes_late`
    holds what was said before it was promised all the same: [order's number, customer, working days late] of each.
    """

    order = models.ForeignKey("orders.Order", on_delete=models.CASCADE, related_name="promises_given")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    due_on = models.DateField()
    earliest = models.DateField(null=True)
    makes_late = models.JSONField(default=list, blank=True)

    objects = PromiseGivenQuerySet.as_manager()

    def __str__(self):
        return f"{self.order} promised for {self.due_on}"


class PromiseLookQuerySet(models.QuerySet):
    def with_person(self):
        return self.select_related("by").order_by("-at", "-pk")


class PromiseLook(models.Model):
    """Somebody looked at an order's promised day after `doubt`, and kept it or promised another. Only ever added."""

    order = models.ForeignKey("orders.Order", on_delete=models.PROTECT, related_name="promise_looks")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    doubt = models.CharField(max_length=200)
    was = models.DateField()
    due_on = models.DateField()

    objects = PromiseLookQuerySet.as_manager()

    def __str__(self):
        return f"{self.order} promised for {self.due_on}"

    @property
    def kept(self):
        return self.was == self.due_on
