"""What can be ordered: hardware systems with their revisions, and fabrics."""

from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from calc.spec import VANE_WIDTHS_MM
from calc.system import System


class HardwareSystemQuerySet(models.QuerySet):
    def by_name(self):
        return self.order_by("name", "pk")

    def first_choice(self):
        """The system that a new line starts with: the first that a blind can be computed with, or None."""
        return self.filter(revisions__state=SystemRevision.PUBLISHED).by_name().first()


class HardwareSystem(models.Model):
    """A matched set of headrail parts that the workshop buys; sales pick a system, never a constant."""

    code = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=80)

    objects = HardwareSystemQuerySet.as_manager()

    def __str__(self):
        return self.name


class SystemRevisionQuerySet(models.QuerySet):
    def newest_published(self):
        """The published revisions, the newest of each system first."""
        return self.filter(state=SystemRevision.PUBLISHED).select_related("system").order_by("system__name", "-number")

    def current(self, *, system):
        """The newest published revision of `system`, or None."""
        return self.filter(system=system, state=SystemRevision.PUBLISHED).order_by("-number").first()


class SystemRevision(models.Model):
    """The constants of a system as they stood from one day on. A released blind keeps the revision it was made from."""

    DRAFT, PUBLISHED, RETIRED = "draft", "published", "retired"
    STATES = ((DRAFT, "Draft"), (PUBLISHED, "Published"), (RETIRED, "Retired"))

    system = models.ForeignKey(HardwareSystem, on_delete=models.PROTECT, related_name="revisions")
    number = models.PositiveIntegerField()
    state = models.CharField(max_length=10, choices=STATES, default=DRAFT)
    constants = models.JSONField()
    published_at = models.DateTimeField(null=True, blank=True)

    objects = SystemRevisionQuerySet.as_manager()

    class Meta:
        constraints = [
            # A revision is named by its number, so the number can't be used twice.
            models.UniqueConstraint(fields=["system", "number"], name="one_revision_per_number"),
            models.CheckConstraint(
                condition=Q(state__in=["draft", "published", "retired"]), name="revision_state_is_known"
            ),
            # A ticket says when its revision came into force.
            models.CheckConstraint(
                condition=Q(state="draft") | Q(published_at__isnull=False), name="published_revision_has_its_date"
            ),
        ]

    def __str__(self):
        return f"{self.system.code} revision {self.number}"

    def as_system(self):
        """This revision's constants as `calc` reads them."""
        return System.from_dict(self.constants)


class FabricQuerySet(models.QuerySet):
    def offered(self):
        return self.filter(offered=True).in_catalogue_order()

    def in_catalogue_order(self):
        return self.order_by("name", "colour", "vane_width_mm")

    def for_line(self, line):
        """What `line` may be made of: what is offered, and the fabric that it has already."""
        return self.filter(Q(offered=True) | Q(pk=line.fabric_id)).in_catalogue_order()


class Fabric(models.Model):
    """Fabric on rolls slit to one vane width."""

    code = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=60)
    colour = models.CharField(max_length=40)
    vane_width_mm = models.PositiveIntegerField(choices=[(width, f"{width} mm") for width in VANE_WIDTHS_MM])
    weight_g_per_m2 = models.PositiveIntegerField()
    offered = models.BooleanField(default=True, db_default=True)
    added_at = models.DateTimeField(db_default=Now())

    objects = FabricQuerySet.as_manager()

    class Meta:
        constraints = [
            # Heavier than 2000 g/m2 is no blind fabric, and no weight at all would make the mass a lie.
            models.CheckConstraint(
                condition=Q(weight_g_per_m2__gt=0, weight_g_per_m2__lte=2000), name="fabric_weight_is_plausible"
            ),
        ]

    def __str__(self):
        return f"{self.name} {self.colour}, {self.vane_width_mm} mm"
