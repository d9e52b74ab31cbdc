"""The newest change of each order that other programs are told of."""

from django.db import models
from django.db.models import Q

from orders.models import Order


class OrderChangeQuerySet(models.QuerySet):
    def after(self, change):
        """What changed later than that change, the earliest first, with the order as it stands."""
        return self.filter(change__gt=change).select_related("order__customer").order_by("change")


class OrderChange(models.Model):
    """An order's newest change under a number of its own: higher is later. `mark` tells how the order stood then, and
    `state` which state it was in."""

    order = models.OneToOneField(Order, on_delete=models.CASCADE, related_name="newest_change")
    change = models.PositiveBigIntegerField(unique=True)
    mark = models.CharField(max_length=64)
    state = models.CharField(max_length=10)

    objects = OrderChangeQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["state"], name="change_by_state")]

    def __str__(self):
        return f"{self.order}, change {self.change}"


class ChangesCounted(models.Model):
    """The number of the last change, and of the newest order among all that were told. There is one row; whoever
    numbers changes holds it."""

    last = models.PositiveBigIntegerField(default=0)
    newest_order = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(pk=1), name="changes_are_counted_once")]

    def __str__(self):
        return str(self.last)
