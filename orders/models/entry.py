"""What is kept of entering an order: forms that were taken once, and questions that were answered 'It is right'."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from .lines import OrderLine
from .orders import Order


class SentForm(models.Model):
    """A form that was taken, by the key that its page carried, so that sending it again writes nothing twice."""

    key = models.UUIDField(primary_key=True)
    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="+")
    # The line that it wrote, where it wrote one.
    position = models.PositiveIntegerField(null=True)
    at = models.DateTimeField(db_index=True)

    def __str__(self):
        return f"{self.order}, form of {self.at}"


class SlipAnswerQuerySet(models.QuerySet):
    def of_order(self, order):
        return self.filter(order=order).select_related("by")


class SlipAnswer(models.Model):
    """Somebody answered a question about a likely slip: it is right as it stands.

    It holds for the `figures` that it was given for and no others. `line` is empty where the question is about the
    order as a whole. Only ever added.
    """

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="slip_answers")
    line = models.ForeignKey(OrderLine, null=True, on_delete=models.CASCADE, related_name="slip_answers")
    code = models.CharField(max_length=20)
    figures = models.CharField(max_length=300)
    question = models.TextField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    objects = SlipAnswerQuerySet.as_manager()

    class Meta:
        constraints = [
            # A question is answered once for the same figures.
            models.UniqueConstraint(
                fields=["line", "code", "figures"], condition=Q(line__isnull=False), name="line_slip_answered_once"
            ),
            models.UniqueConstraint(
                fields=["order", "code", "figures"], condition=Q(line__isnull=True), name="order_slip_answered_once"
            ),
        ]

    def __str__(self):
        return f"{self.code} of {self.order}: it is right"
