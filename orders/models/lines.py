"""The lines of an order."""

from django.db import models
from django.db.models import Q

from calc import spec

from .catalogue import Fabric, HardwareSystem
from .choices import choices
from .orders import Order
from .sought import KeepsSought, RoomName, SoughtField, SoughtQuerySet


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
