"""Blinds on their way through the workshop, and how each stands at each station."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Cast, Coalesce
from django.urls import reverse

from orders.models import Order, OrderLine, SystemRevision

from .. import codes, route
from .choices import STATE_CHOICES, STATION_CHOICES


class BlindQuerySet(models.QuerySet):
    def with_order(self):
        return self.select_related("order__customer", "revision__system")

    def only_this(self, blind):
        return self.filter(pk=blind.pk)

    def for_paper(self):
        """With all that tickets and labels say of a blind; `of_blinds` is how many its order has, and `of_numbers` how
        many with those that were taken off, whose numbers stay."""
        siblings = Blind.objects.filter(order=models.OuterRef("order")).order_by().values("order")
        counted = {
            name: Coalesce(models.Subquery(found.annotate(total=models.Count("pk")).values("total")), 0)
            for name, found in (("of_blinds", siblings.not_taken_off()), ("of_numbers", siblings))
        }
        return self.with_order().annotate(**counted).order_by("order__number", "serial")

    def of_order(self, order):
        return self.filter(order=order).order_by("serial")

    def with_stages(self):
        return self.prefetch_related(models.Prefetch("stages", Stage.objects.select_related("person")))

    def numbered(self, *, order_number, serial):
        """The one blind that people call by this number, or None."""
        return self.filter(order__number=order_number, serial=serial).first()

    def coded(self, code):
        """The blind with this ticket code, or None."""
        return self.filter(code=code).first()

    def versions(self):
        """How many events each has; nothing else of it is read."""
        return self.order_by().values_list("version", flat=True)

    def standing(self):
        """What changes whenever a sheet of one of them does, in a row each; who did something there is left out."""
        order = ("order__number", "order__due_on", "order__rush", "order__state", "order__customer__name")
        return self.order_by().values_list("pk", "version", "serial", *order, named=True)

    def events_in_all(self):
        """How many events these blinds have together: it grows with everything that happens to any of them."""
        return self.aggregate(total=models.Sum("version"))["total"] or 0

    def counted_by_revision(self, system):
        """How many blinds were released with each revision of `system`, as dicts of its number and `blinds`."""
        found = self.filter(revision__system=system).order_by("revision__number").values("revision__number")
        return found.annotate(blinds=models.Count("pk"))

    def still_made_for(self, orders):
        """(pk, order's pk, spec) of each blind of these orders that wasn't taken off, in no order."""
        return self.not_taken_off().filter(order__in=orders).values_list("pk", "order", "spec")

    def specs_by_order_number(self, numbers):
        """(pk, order's number, spec) of the orders' blinds that weren't taken off, in no order, by order numbers."""
        return self.not_taken_off().filter(order__number__in=numbers).values_list("pk", "order__number", "spec")

    def unpacked(self):
        """Blinds that are still to be made; one that was taken off is not."""
        packing = Stage.objects.filter(blind=models.OuterRef("pk"), station=route.PACKING)
        return self.filter(models.Exists(packing.exclude(state__in=route.SETTLED)))

    def not_taken_off(self):
        off = Stage.objects.filter(blind=models.OuterRef("pk"), station=route.PACKING, state=route.OFF)
        return self.exclude(models.Exists(off))


class Blind(models.Model):
    """One blind, frozen when it was released: what is to be made, every figure, and the system revision.

    Only an accepted change freezes it anew; both versions stand in its event.
    """

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="blinds")
    line = models.ForeignKey(OrderLine, on_delete=models.PROTECT, related_name="blinds")
    serial = models.PositiveIntegerField()
    code = models.CharField(max_length=10, unique=True)
    room = models.CharField(max_length=60, blank=True)
    fabric = models.CharField(max_length=120)
    special_instruction = models.TextField(max_length=300, blank=True)
    concerns = models.JSONField(default=list, blank=True)
    spec = models.JSONField()
    components = models.JSONField()
    revision = models.ForeignKey(SystemRevision, on_delete=models.PROTECT, related_name="+")
    released_at = models.DateTimeField()
    # How often its papers were made anew, since a rail was scrapped or a change accepted; older ones are refused.
    remake = models.PositiveSmallIntegerField(default=0)
    # Which issue of its figures counts, one more with each accepted change; what was entered by another is refused.
    issue = models.PositiveSmallIntegerField(default=1)
    # How many events the blind has; each writer must have seen them all.
    version = models.PositiveIntegerField(default=0)

    objects = BlindQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["order", "serial"], name="one_blind_per_serial"),
            # Ticket codes have three digits for the serial.
            models.CheckConstraint(condition=Q(serial__gte=1, serial__lte=999), name="serial_fits_the_ticket_code"),
        ]

    def __str__(self):
        return self.number

    def get_absolute_url(self):
        return reverse("blind", args=[self.code])

    @property
    def number(self):
        """What people say and type, such as '0412-3'."""
        return codes.human_number(order_number=self.order.number, serial=self.serial)

    @property
    def label_code(self):
        """What a scanner reads on its labels and its ticket, as they are printed now."""
        return codes.ticket_code(order_number=self.order.number, serial=self.serial, remake=self.remake)

    @property
    def looped(self):
        return self.spec["operation"] == "cord_chain"

    @property
    def frozen(self):
        """What an accepted change replaces as a whole, as its event keeps it."""
        return {
            "spec": self.spec,
            "components": self.components,
            "revision": self.revision_id,
            "room": self.room,
            "fabric": self.fabric,
            "special_instruction": self.special_instruction,
            "concerns": self.concerns,
        }


class StageQuerySet(models.QuerySet):
    def with_order(self):
        return self.select_related("blind__order__customer", "person")

    def standing(self, states):
        """What stands in one of `states` at any station, in no order; by station, as it is indexed."""
        return self.filter(station__in=list(route.STATION), state__in=states)

    def queued_at(self, station):
        """What station `station` can work on, in no order: whose turn it is, `turns` says."""
        return self.filter(station=station, state__in=route.QUEUED)

    def coming_to(self, station):
        """Blinds that can't be worked on at `station` yet but are under way to it."""
        return self.filter(station=station, state=route.NOT_YET)

    def leading_to(self, station):
        """The stages just before `station` that are under way or done, of blinds that can't be worked on there yet."""
        return self.filter(
            blind__in=self.coming_to(station).values("blind"),
            station__in=route.STATION[station].after,
            state__in=(route.IN_HAND, route.PAUSED, route.DONE),
        )

    def traces_at(self, station):
        """What a tablet at `station` shows, in one light query: (blind, station, state, attempt, person, since,
        promised day, rush, order's number, serial) of each stage that is queued there or leads to it, in no order."""
        fields = ("blind_id", "station", "state", "attempt", "person_id", "since")
        order = ("blind__order__due_on", "blind__order__rush", "blind__order__number", "blind__serial")
        queued = self.filter(station=station, state__in=route.QUEUED).values_list(*fields, *order)
        if not route.STATION[station].after:
            return queued
        return queued.union(self.leading_to(station).values_list(*fields, *order), all=True)

    def marks_at(self, station):
        """What changes whenever a stage that `traces_at` finds has changed, or the figures of its blind, in no order:
        few columns, as text."""
        fields = ("pk", "state", "attempt", "person_id", "blind__issue", Cast("since", models.TextField()))
        queued = self.filter(station=station, state__in=route.QUEUED).values_list(*fields)
        if not route.STATION[station].after:
            return queued
        return queued.union(self.leading_to(station).values_list(*fields), all=True)

    def tallied(self):
        """How many blinds are queued at each station in each state, and the oldest promised day among them."""
        return (
            self.standing(route.QUEUED)
            .values("station", "state")
            .annotate(blinds=models.Count("pk"), oldest=models.Min("blind__order__due_on"))
            .order_by("station", "state")
        )

    def counted_of_orders(self, orders):
        """(order, station, state, how many blinds, when the last came to stand so) of the orders with these keys."""
        found = self.filter(blind__order__in=orders).order_by("blind__order", "station", "state")
        return found.values_list("blind__order", "station", "state").annotate(models.Count("pk"), models.Max("since"))

    def held_of_orders(self, orders):
        """(order, station, state, person) of what somebody has in hand or paused, of the orders with these keys."""
        held = self.filter(blind__order__in=orders, person__isnull=False, state__in=(route.IN_HAND, route.PAUSED))
        for stage in held.select_related("blind", "person").only("station", "state", "blind__order", "person"):
            yield stage.blind.order_id, stage.station, stage.state, stage.person

    def in_hand_of(self, person):
        """What this person has taken up and not finished, what is longest in hand first."""
        return self.filter(person=person, state__in=(route.IN_HAND, route.PAUSED)).order_by("since", "pk")

    def whose(self, blind):
        """Who has or last had the blind with this key at each station: {station: person's key or None}."""
        return dict(self.filter(blind=blind).values_list("station", "person"))

    def with_queue_figures(self):
        """With the few figures that a queue shows as attributes, and without the rest of the blind's figures."""
        figures = {
            name: models.F(f"blind__components__{path}")
            for name, path in {
                "carriers": "carriers",
                "width_mm": "finished_width_mm",
                "drop_mm": "finished_drop_mm",
                "vanes": "vanes",
            }.items()
        }
        return self.with_order().annotate(**figures).defer("blind__components")


class Stage(models.Model):
    """How one blind stands at one station: a copy of what its events add up to, written with them."""

    blind = models.ForeignKey(Blind, on_delete=models.PROTECT, related_name="stages")
    station = models.CharField(max_length=10, choices=STATION_CHOICES)
    state = models.CharField(max_length=10, choices=STATE_CHOICES)
    attempt = models.PositiveIntegerField(default=1)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    since = models.DateTimeField()

    objects = StageQuerySet.as_manager()

    class Meta:
        constraints = [
            # A blind stands once at a station, so it can't be taken there twice.
            models.UniqueConstraint(fields=["blind", "station"], name="one_stage_per_station"),
            models.CheckConstraint(condition=Q(state__in=list(route.STATE_WORDS)), name="stage_state_is_known"),
            models.CheckConstraint(condition=Q(station__in=list(route.STATION)), name="stage_is_at_a_known_station"),
        ]
        indexes = [
            models.Index(fields=["station", "state"], name="stage_by_station_and_state"),
            models.Index(fields=["station", "since"], name="stage_by_station_and_since"),
        ]

    def __str__(self):
        return f"{self.blind} at {self.station}: {self.state}"

    @property
    def place(self):
        return route.STATION[self.station]
