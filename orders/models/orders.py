"""Orders: what one customer asked for, its states, and how it is found."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from calc import spec

from .choices import choices
from .customers import Customer
from .endings import CustomerEnding, OrderEnding, RoomEnding
from .promises import PromiseGiven
from .sought import KeepsSought, RoomName, SoughtField, SoughtQuerySet, holding


class OrderQuerySet(SoughtQuerySet):
    def newest_first(self):
        return self.order_by("-number")

    def numbered_after(self, number, *, state=None):
        """The orders with a higher number, or those of them in one state, by number."""
        later = self.filter(number__gt=number).order_by("number")
        return later.filter(state=state) if state else later

    def open_first(self):
        """Open orders before those that have left or were cancelled, the newest first in each."""
        return self.best_first(number=None)

    def best_first(self, *, number):
        """The order with this number before all others, then the open ones, the newest first in each."""
        is_named = [models.Case(models.When(number=number, then=0), default=1)] if number else []
        is_open = models.Case(models.When(state__in=Order.OPEN, then=0), default=1)
        return self.order_by(*is_named, is_open, "-number")

    def open_or_newest(self, count):
        """The open orders, and those with the last `count` numbers that were given."""
        last = models.Subquery(Order.objects.newest_first().values("number")[:1])
        # A range, though none comes after the last: PostgreSQL expects few orders in it, and looks them up.
        return self.filter(Q(state__in=Order.OPEN) | Q(number__gt=last - count, number__lte=last))

    def numbered(self, number):
        """The order with this number, or None."""
        return self.filter(number=number).first()

    def with_keys(self, keys):
        """The orders with these primary keys, with all that a list says of them."""
        return self.filter(pk__in=keys).with_customer().select_related("entered_by")

    def of_customer(self, customer):
        return self.filter(customer=customer)

    def like(self, order, *, since, lines):
        """The customer's orders before `order` with as many lines, entered from `since` on, of no file that made it."""
        entered = self.of_customer(order.customer_id).filter(
            entered_at__range=(since, order.entered_at), number__lt=order.number
        )
        same = entered.exclude(state=Order.CANCELLED).exclude(files__in=order.files.all())
        return same.annotate(line_count=models.Count("lines")).filter(line_count=lines)

    def counted_by_state(self):
        """How many orders are in each state, as a dict."""
        return dict(self.order_by().values_list("state").annotate(models.Count("pk")))

    def open(self):
        """Orders that still ask something of the workshop or the office."""
        return self.filter(state__in=Order.OPEN)

    def promises_at_work(self):
        """(pk, promised day, rush) of each order whose blinds are being made, in no order."""
        return self.filter(state=Order.RELEASED).values_list("pk", "due_on", "rush")

    def booked(self):
        """Orders that the workshop is still to make for a promised day: those that the customer agreed to, and drafts
        whose day was promised from the plan."""
        told = PromiseGiven.objects.filter(order=models.OuterRef("pk"), due_on=models.OuterRef("due_on"))
        draft = Q(state=Order.DRAFT) & models.Exists(told)
        return self.filter(Q(state__in=(Order.CONFIRMED, Order.RELEASED)) | draft)

    def promised_between(self, first_day, last_day):
        """Orders promised for one of these days that are still open."""
        return self.open().filter(due_on__gte=first_day, due_on__lte=last_day)

    def promised_by_day(self, first_day, last_day):
        """How many open orders are promised for each of these days, as a dict."""
        found = self.promised_between(first_day, last_day).order_by().values_list("due_on")
        return dict(found.annotate(models.Count("pk")))

    def promise_doubted(self):
        """Orders whose promised day somebody must look at again, the one promised first at the top."""
        return self.filter(promise_doubted_at__isnull=False).order_by("due_on", "number")

    def in_state(self, state):
        return self.filter(state=state)

    def with_customer(self):
        return self.select_related("customer").annotate(
            blind_total=models.Sum(models.F("lines__quantity") - models.F("lines__taken_off"), default=0),
        )

    def holding(self, units):
        """Orders with all of `units` in number, reference, rooms or their customer: held against them one by one, in
        the order that is asked for."""
        found = self
        for place, unit in enumerate(units):
            wanted = holding(unit) | Q(number=unit.number) if unit.number else holding(unit)
            for beside in (
                self._lines().filter(holding(unit), order=models.OuterRef("pk")),
                Customer.objects.filter(holding(unit), pk=models.OuterRef("customer")),
            ):
                # The first rather than whether there is one, which PostgreSQL would ask of all there are.
                name = f"{beside.model._meta.model_name}_{place}"
                found = found.alias(**{name: models.Subquery(beside.values("pk")[:1])})
                wanted |= Q((f"{name}__isnull", False))
            found = found.filter(wanted)
        return found

    def looked_up(self, units):
        """Orders with all of `units`, as `holding` finds them, in a time that grows with how many have each."""
        found = self
        for unit in units:
            first, *others = Order.objects.keys_holding(unit)
            found = found.filter(pk__in=first.union(*others, all=True))
        return found

    def keys_holding(self, unit, *, most=None):
        """Querysets of the keys of all orders with what was typed as `unit`, some of them twice, each by an index; of
        `most` of the customers who hold it, where that is given."""
        yield OrderEnding.objects.owners_holding(unit)
        yield self.filter(customer__in=CustomerEnding.objects.owners_holding(unit)[:most]).values("pk")
        rooms = RoomName.objects.filter(pk__in=RoomEnding.objects.owners_holding(unit))
        yield self._lines().filter(sought__in=rooms.values("sought")).values("order")
        if unit.number:
            yield self.filter(number=unit.number).values("pk")

    def _lines(self):
        return self.model.lines.rel.related_model.objects


class Order(KeepsSought):
    """What one customer asked for, due on one promised day."""

    DRAFT, CONFIRMED, RELEASED, READY = "draft", "confirmed", "released", "ready"
    COLLECTED, DELIVERED, CANCELLED = "collected", "delivered", "cancelled"
    STATES = (
        (DRAFT, "Draft"),
        (CONFIRMED, "Confirmed"),
        (RELEASED, "Released"),
        (READY, "Ready"),
        (COLLECTED, "Collected"),
        (DELIVERED, "Delivered"),
        (CANCELLED, "Cancelled"),
    )
    OPEN = (DRAFT, CONFIRMED, RELEASED, READY)

    number = models.PositiveIntegerField(unique=True)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="orders")
    reference = models.CharField("customer's reference", max_length=60, blank=True)
    market = models.CharField(max_length=10, choices=choices(spec.MARKETS), default="en13120")
    due_on = models.DateField("promised day")
    rush = models.BooleanField(default=False)
    note = models.TextField(max_length=500, blank=True)
    state = models.CharField(max_length=10, choices=STATES, default=DRAFT)
    state_since = models.DateTimeField()
    entered_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    entered_at = models.DateTimeField()
    # Set where a fault may cost the promised day, until somebody has looked at the promise again.
    promise_doubted_at = models.DateTimeField(null=True, editable=False)
    promise_doubt = models.CharField(max_length=200, blank=True, editable=False)
    sought = SoughtField(texts=("reference",))

    objects = OrderQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(
                    state__in=["draft", "confirmed", "released", "ready", "collected", "delivered", "cancelled"]
                ),
                name="order_state_is_known",
            ),
            # Ticket codes have six digits for the order's number.
            models.CheckConstraint(
                condition=Q(number__gte=1, number__lte=999_999), name="order_number_fits_the_ticket_code"
            ),
        ]
        indexes = [
            models.Index(fields=["state", "due_on"], name="order_by_state_and_due"),
            models.Index(fields=["sought"], name="order_by_what_is_sought"),
            # Of the few whose promise somebody must look at again.
            models.Index(
                fields=["due_on", "number"],
                condition=Q(promise_doubted_at__isnull=False),
                name="order_whose_promise_is_doubted",
            ),
        ]

    def __str__(self):
        return f"Order {self.number:04d}"

    def get_absolute_url(self):
        return reverse("order", args=[self.number])

    @property
    def at_work(self):
        """Its blinds are in the workshop, made or being made."""
        return self.state in (self.RELEASED, self.READY)

    @property
    def editable(self):
        """Lines may change until the order is released."""
        return self.state in (self.DRAFT, self.CONFIRMED)
