"""The steps of an order from draft to its end, as they were taken."""

from django.conf import settings
from django.db import models

WORDS = {("", "draft"): "Entered", ("confirmed", "draft"): "Taken back to draft", ("ready", "released"): "Back at work"}
"""What a step is called where the state that it led to doesn't say it."""


class OrderStepQuerySet(models.QuerySet):
    def in_order(self):
        """With who took each, the first step at the top."""
        return self.select_related("by").order_by("pk")


class OrderStep(models.Model):
    """Somebody took an order from the state `was`, none where it was entered, to `state`. Only ever added."""

    order = models.ForeignKey("orders.Order", on_delete=models.CASCADE, related_name="steps")
    was = models.CharField(max_length=10, blank=True)
    state = models.CharField(max_length=10)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    objects = OrderStepQuerySet.as_manager()

    def __str__(self):
        return f"{self.order} {self.state}"

    @property
    def words(self):
        """What was done, as it is told."""
        return WORDS.get((self.was, self.state)) or dict(self.order.STATES)[self.state]
