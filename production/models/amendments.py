"""What is asked to be changed on an order whose blinds are at work, and what the workshop decided."""

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.db.models import Q

from orders.models import Order, OrderLine

from .blinds import Blind


class AmendmentQuerySet(models.QuerySet):
    def open(self):
        """What nobody has decided yet."""
        return self.filter(state=Amendment.ASKED)

    def of_order(self, order):
        return self.filter(order=order).order_by("-pk")

    def with_people(self):
        return self.select_related("order__customer", "line", "asked_by", "decided_by").prefetch_related(
            models.Prefetch("blinds", Blind.objects.select_related("order", "line", "revision").order_by("serial"))
        )

    def oldest_first(self):
        return self.order_by("asked_at", "pk")

    def open_for(self, blind):
        """The change of `blind` that is asked for and not decided, or None."""
        return self.open().filter(blinds=blind).select_related("asked_by").first()

    def blinds_asked(self):
        """The key of each blind of which a change is asked for, in no order."""
        return self.open().filter(blinds__isnull=False).values_list("blinds", flat=True)


class Amendment(models.Model):
    """A change that the office asks for after the release, and the workshop accepts or refuses as a whole.

    `asked` holds what is wanted: the fields of a line, or of the order's head. `blinds` are those that it concerns,
    none for the head, and for another line until it is accepted. Both versions stand in the events of each blind.
    """

    CHANGE, ADD, TAKE_OFF, HEAD = "change", "add", "take_off", "head"
    KINDS = (
        (CHANGE, "Change of a line"),
        (ADD, "Another line"),
        (TAKE_OFF, "Blinds taken off"),
        (HEAD, "Promised day or note"),
    )
    ASKED, ACCEPTED, REFUSED, WITHDRAWN = "asked", "accepted", "refused", "withdrawn"
    STATES = ((ASKED, "Asked for"), (ACCEPTED, "Accepted"), (REFUSED, "Refused"), (WITHDRAWN, "Taken back"))

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="amendments")
    kind = models.CharField(max_length=10, choices=KINDS)
    line = models.ForeignKey(OrderLine, null=True, on_delete=models.PROTECT, related_name="+")
    blinds = models.ManyToManyField(Blind, related_name="amendments")
    asked = models.JSONField(default=dict, blank=True, encoder=DjangoJSONEncoder)
    because = models.CharField(max_length=200)
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()
    state = models.CharField(max_length=10, choices=STATES, default=ASKED)
    decided_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    decided_at = models.DateTimeField(null=True)
    reason = models.CharField(max_length=200, blank=True)

    objects = AmendmentQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=["change", "add", "take_off", "head"]), name="amendment_kind_is_known"
            ),
            # Who decided and when stays on record.
            models.CheckConstraint(
                condition=Q(state="asked", decided_by=None, decided_at=None)
                | Q(
                    state__in=["accepted", "refused", "withdrawn"],
                    decided_by__isnull=False,
                    decided_at__isnull=False,
                ),
                name="amendment_is_open_or_decided_by_somebody",
            ),
            # Whoever asked is told why not.
            models.CheckConstraint(condition=~Q(state="refused") | ~Q(reason=""), name="refused_amendment_says_why"),
        ]
        indexes = [models.Index(fields=["state"], name="amendment_by_state")]

    def __str__(self):
        return f"{self.order}: {self.get_kind_display().lower()}"

    @property
    def is_open(self):
        return self.state == self.ASKED
