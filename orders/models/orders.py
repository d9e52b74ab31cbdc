"""Customers, their orders and the lines of an order."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_noop as N_

from calc import spec
from orders import search

from .catalogue import Fabric, HardwareSystem
from .endings import CustomerEnding, OrderEnding, RoomEnding
from .promises import PromiseGiven
from .sought import KeepsSought, RoomName, SoughtField, SoughtQuerySet, holding

MARKET_NAMES = {
    "en13120": N_("EU and UK (EN 13120)"),
    "australia": N_("Australia"),
    "canada": N_("Canada"),
    "usa": N_("USA"),
}
WORDS = {
    "recess": N_("Recess"),
    "exact": N_("Exact"),
    "one_way": N_("One way"),
    "reverse": N_("Reverse"),
    "split": N_("Split"),
    "left": N_("Left"),
    "right": N_("Right"),
    "cord_chain": N_("Cord and chain"),
    "wand": N_("Wand"),
    "tensioner": N_("Tensioner"),
    "breakaway": N_("Breakaway"),
    "weight": N_("Weight"),
    "plastic": N_("Plastic"),
    "metal": N_("Metal"),
    "top": N_("Top fix"),
    "face": N_("Face fix"),
    "chain": N_("Bottom chain"),
    "chainless": N_("Chainless"),
}


def choices(values):
    return [(value, WORDS.get(value, MARKET_NAMES.get(value, str(value)))) for value in values]


class CustomerQuerySet(SoughtQuerySet):
    def by_name(self):
        return self.order_by("name", "pk")

    def keyed(self, key):
        """The customer with primary key `key`, which may be any text, or None."""
        return (
            self.filter(pk=key).first() if str(key).isascii() and str(key).isdecimal() and len(str(key)) < 18 else None
        )

    def with_open_orders(self):
        return self.annotate(open_orders=models.Count("orders", filter=Q(orders__state__in=Order.OPEN)))

    def found_by(self, text):
        """Customers with all that was typed in name, contact, phone or email; none where nothing was."""
        wanted = search.units(text)
        found = self if wanted else self.none()
        for unit in wanted:
            found = found.filter(pk__in=CustomerEnding.objects.owners_holding(unit))
        return found

    def same_as(self, *, name, email, phone):
        """The first customer of that name with that e-mail, or that phone where no e-mail is given; else None."""
        by = {"email__iexact": email} if email else {"phone": phone}
        return self.filter(name__iexact=name, **by).order_by("pk").first() if email or phone else None


class Customer(KeepsSought):
    name = models.CharField(max_length=80)
    contact = models.CharField(max_length=80, blank=True)
    phone = models.CharField(max_length=30, blank=True)
    email = models.EmailField(blank=True)
    address = models.TextField(max_length=300, blank=True)
    trade = models.BooleanField("trade customer", default=False)
    market = models.CharField("usual market", max_length=10, choices=choices(spec.MARKETS), default="en13120")
    sought = SoughtField(texts=("name", "contact", "email"), phones=("phone",))

    objects = CustomerQuerySet.as_manager()

    class Meta:
        constraints = [
            # A ticket without a customer's name reaches nobody.
            models.CheckConstraint(condition=~Q(name=""), name="customer_has_a_name"),
        ]
        # As lists of them are sorted, so that the first of a great many are found without the others.
        indexes = [models.Index(fields=["name", "id"], name="customer_by_name")]

    def __str__(self):
        return self.name

    def get_absolute_url(self):
        return reverse("customer", args=[self.pk])


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
                OrderLine.objects.filter(holding(unit), order=models.OuterRef("pk")),
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
        yield OrderLine.objects.filter(sought__in=rooms.values("sought")).values("order")
        if unit.number:
            yield self.filter(number=unit.number).values("pk")


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


class PromiseLookQuerySet(models.QuerySet):
    def with_person(self):
        return self.select_related("by").order_by("-at", "-pk")


class PromiseLook(models.Model):
    """Somebody looked at an order's promised day after `doubt`, and kept it or promised another. Only ever added."""

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="promise_looks")
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


class OrderLineQuerySet(SoughtQuerySet):
    def in_order(self):
        return self.select_related("fabric", "system", "order").order_by("position")

    def counted_by_fabric(self):
        """How many lines are made of each fabric, by the fabric's key."""
        return dict(self.order_by().values_list("fabric").annotate(models.Count("pk")))

    def counted_by_system(self):
        """How many lines of orders that are not released yet use each system, by the system's key."""
        return dict(self.changeable().order_by().values_list("system").annotate(models.Count("pk")))

    def made_of(self, fabric):
        return self.filter(fabric=fabric)

    def with_system(self, system):
        return self.filter(system=system)

    def most_chosen(self, names, *, orders):
        """What most blinds of `orders` have under `names`, all together, as a dict; of equals the newest; or None."""
        counted = self.filter(order__in=orders).order_by().values(*names)
        counted = counted.annotate(blinds=models.Sum("quantity"), newest=models.Max("pk"))
        found = counted.order_by("-blinds", "-newest").first()
        return found and {name: found[name] for name in names}

    def in_orders(self, orders):
        """The lines of `orders`, those of the newest order first."""
        return self.filter(order__in=orders).select_related("order").order_by("-order__number", "position")

    def changeable(self):
        """Lines whose order is a draft or confirmed: what they come to still follows the revision in force."""
        return self.filter(order__state__in=(Order.DRAFT, Order.CONFIRMED))

    def to_be_released(self, orders):
        """What of these orders is not released yet: dicts of order, quantity, draw, operation, width and vane width."""
        fields = ("order", "quantity", "draw", "operation", "width_mm", "vane_width_mm")
        return self.changeable().filter(order__in=orders).order_by("order", "position").values(*fields)

    def open_of(self, customer):
        """What a customer's open orders ask for, order by order."""
        return self.filter(order__customer=customer, order__state__in=Order.OPEN).by_order()

    def by_order(self):
        """With all that is said of a line, order by order."""
        return self.select_related("fabric", "system", "order__customer").order_by("order__number", "position")


class OrderLine(KeepsSought):
    """One size and make of blind, once or several times. Lengths in millimetres, to a tenth."""

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="lines")
    position = models.PositiveIntegerField()
    quantity = models.PositiveIntegerField(default=1)
    room = models.CharField(max_length=60, blank=True)
    system = models.ForeignKey(HardwareSystem, on_delete=models.PROTECT, related_name="+")
    width_mm = models.DecimalField("width", max_digits=6, decimal_places=1)
    drop_mm = models.DecimalField("drop", max_digits=6, decimal_places=1)
    size_basis = models.CharField(max_length=10, choices=choices(spec.SIZE_BASES))
    vane_width_mm = models.PositiveIntegerField(
        "vane width", choices=[(width, f"{width} mm") for width in spec.VANE_WIDTHS_MM]
    )
    draw = models.CharField(max_length=10, choices=choices(spec.DRAWS))
    hand = models.CharField(max_length=10, choices=choices(spec.HANDS))
    operation = models.CharField(max_length=10, choices=choices(spec.OPERATIONS))
    loop_control = models.CharField(max_length=10, choices=choices(spec.LOOP_CONTROLS), blank=True)
    chain = models.CharField(max_length=10, choices=choices(spec.CHAINS), blank=True)
    control_drop_mm = models.DecimalField("control drop", max_digits=6, decimal_places=1, null=True, blank=True)
    installation_height_mm = models.DecimalField(
        "installation height", max_digits=6, decimal_places=1, null=True, blank=True
    )
    recess_depth_mm = models.DecimalField("recess depth", max_digits=6, decimal_places=1, null=True, blank=True)
    fixing = models.CharField(max_length=10, choices=choices(spec.FIXINGS), default="top")
    bottom = models.CharField(max_length=10, choices=choices(spec.BOTTOMS), default="chain")
    fabric = models.ForeignKey(Fabric, on_delete=models.PROTECT, related_name="+")
    special_instruction = models.TextField(max_length=300, blank=True)
    # Stations that must acknowledge the special instruction.
    concerns = models.JSONField(default=list, blank=True)
    sought = SoughtField(texts=("room",))
    # How many of its blinds were taken off after the release; they stay on record.
    taken_off = models.PositiveIntegerField(default=0, editable=False)

    objects = OrderLineQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["order", "position"], name="one_line_per_position"),
            # Nothing, and nothing below nothing, can be made.
            models.CheckConstraint(condition=Q(width_mm__gt=0, drop_mm__gt=0), name="line_has_a_size"),
            models.CheckConstraint(condition=Q(quantity__gte=1, quantity__lte=99), name="line_quantity_1_to_99"),
            models.CheckConstraint(
                condition=Q(taken_off__lte=models.F("quantity")), name="line_has_the_blinds_that_are_taken_off"
            ),
            # A looped blind always names its safety device.
            models.CheckConstraint(
                condition=Q(operation="wand") | (~Q(loop_control="") & ~Q(chain="")),
                name="looped_blind_names_device_and_chain",
            ),
        ]
        # The order beside it, so that finding a room's orders reads nothing else.
        indexes = [models.Index(fields=["sought", "order"], name="line_by_what_is_sought")]

    def __str__(self):
        return f"{self.order} line {self.position}"

    @classmethod
    def note_sought(cls, rows, *, new):
        RoomName.objects.keep({row.sought for row in rows})
