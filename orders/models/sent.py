"""The papers that were sent to customers as they left, and each letter that took one."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from orders.customer_papers import KIND, KINDS

from .orders import Order


class IssuedPaperQuerySet(models.QuerySet):
    def newest_of(self, *, order, kind):
        """The version of this paper that was sent last, or None."""
        return self.filter(order=order, kind=kind).order_by("-pk").first()


class IssuedPaper(models.Model):
    """One version of a paper, kept byte for byte as it was sent. Only ever added.

    `mark` tells two versions apart by what they say; it is printed on each. `sha256` is that of the PDF.
    """

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="issued_papers")
    kind = models.CharField(max_length=12, choices=[(kind.key, kind.name) for kind in KINDS])
    mark = models.CharField(max_length=8)
    pdf = models.BinaryField()
    sha256 = models.CharField(max_length=64)
    issued_at = models.DateTimeField()
    issued_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    objects = IssuedPaperQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=list(KIND)), name="issued_paper_is_of_a_known_kind"),
        ]

    def __str__(self):
        return f"{self.get_kind_display()} of {self.order}, mark {self.mark}"

    @property
    def filename(self):
        return f"{self.kind}-{self.order.number:04d}-{self.mark}.pdf"


class LetterQuerySet(models.QuerySet):
    def of_order(self, order):
        """The letters about `order`, the newest first, without the PDFs that they took."""
        return self.filter(paper__order=order).select_related("paper__order", "by").defer("paper__pdf").order_by("-pk")

    def with_form(self, form_id):
        """The letters that came of one press of a form, as they were typed."""
        return self.filter(form_id=form_id).order_by("pk")

    def failed(self, *, since):
        """Those written since the moment `since` that could not be sent, the newest first."""
        return self.filter(outcome=Letter.FAILED, at__gte=since).order_by("-pk")

    def counted(self, *, since):
        """(outcome, how many) of the letters written since the moment `since`."""
        return self.filter(at__gte=since).order_by().values_list("outcome").annotate(models.Count("pk"))

    def whole(self):
        return self.select_related("paper__order", "by")


class Letter(models.Model):
    """One e-mail to one address: what became of it is filled in, and the rest never changes."""

    WAITING, SENDING, SENT, FILED, FAILED, PERHAPS = "waiting", "sending", "sent", "filed", "failed", "perhaps"
    OUTCOMES = (
        (WAITING, "Waits to be sent"),
        (SENDING, "Being sent"),
        (SENT, "Sent"),
        (FILED, "Put into the outbox folder"),
        (FAILED, "Not sent"),
        # Whoever sent it was cut off: nobody knows whether it left, and it is sent again by a person alone.
        (PERHAPS, "Perhaps sent"),
    )
    UNDER_WAY = (WAITING, SENDING)

    paper = models.ForeignKey(IssuedPaper, on_delete=models.PROTECT, related_name="letters")
    form_id = models.UUIDField()
    to = models.EmailField()
    subject = models.CharField(max_length=150)
    text = models.TextField(max_length=5000)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    outcome = models.CharField(max_length=8, choices=OUTCOMES, default=WAITING)
    reason = models.CharField(max_length=300, blank=True)
    ended_at = models.DateTimeField(null=True)

    objects = LetterQuerySet.as_manager()

    class Meta:
        constraints = [
            # A form that is sent twice writes to nobody twice.
            models.UniqueConstraint(fields=["form_id", "to"], name="one_letter_per_form_and_address"),
            models.CheckConstraint(
                condition=Q(outcome__in=["waiting", "sending", "sent", "filed", "failed", "perhaps"]),
                name="letter_outcome_is_known",
            ),
            # Whoever reads that a letter wasn't sent wants to know why.
            models.CheckConstraint(
                condition=~Q(outcome__in=["failed", "filed"]) | ~Q(reason=""), name="unsent_letter_says_why"
            ),
        ]

    def __str__(self):
        return f"{self.paper} to {self.to}"
