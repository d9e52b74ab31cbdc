"""What can be ordered: hardware systems with their revisions, and fabrics."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now
from django.urls import reverse

from calc.spec import VANE_WIDTHS_MM
from calc.system import System


class HardwareSystemQuerySet(models.QuerySet):
    def by_name(self):
        return self.order_by("name", "pk")

    def first_choice(self):
        """The system that a new line starts with: the first that a blind can be computed with, or None."""
        return self.filter(revisions__state=SystemRevision.PUBLISHED).by_name().first()

    def with_revisions(self):
        """With every revision, the newest first, and who drafted, published and retired it."""
        people = SystemRevision.objects.select_related("drafted_by", "published_by", "retired_by")
        return self.prefetch_related(models.Prefetch("revisions", people.order_by("-number")))


class HardwareSystem(models.Model):
    """A matched set of headrail parts that the workshop buys; sales pick a system, never a constant."""

    code = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=80)

    objects = HardwareSystemQuerySet.as_manager()

    def __str__(self):
        return self.name

    def get_absolute_url(self):
        return reverse("system", args=[self.code])


class SystemRevisionQuerySet(models.QuerySet):
    def newest_published(self):
        """The published revisions, the newest of each system first."""
        return self.filter(state=SystemRevision.PUBLISHED).select_related("system").order_by("system__name", "-number")

    def in_full(self):
        """With the system and the people who drafted, published and retired it."""
        return self.select_related("system", "drafted_by", "published_by", "retired_by")

    def drafts(self):
        return self.filter(state=self.model.DRAFT)

    def in_force(self):
        return self.filter(state=self.model.PUBLISHED)

    def newest_of(self, system):
        """The revision of `system` with the highest number, or None."""
        return self.filter(system=system).order_by("-number").first()

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
    drafted_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    drafted_at = models.DateTimeField(null=True, blank=True)
    published_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    published_at = models.DateTimeField(null=True, blank=True)
    retired_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    retired_at = models.DateTimeField(null=True, blank=True)

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
            # Two drafts of one system would go their own ways, and the later one would undo the other unseen.
            models.UniqueConstraint(fields=["system"], condition=Q(state="draft"), name="one_draft_per_system"),
            # Which constants are in force must never be a question.
            models.UniqueConstraint(
                fields=["system"], condition=Q(state="published"), name="one_published_revision_per_system"
            ),
        ]

    def __str__(self):
        return f"{self.system.code} revision {self.number}"

    def get_absolute_url(self):
        return reverse("revision", args=[self.system.code, self.number])

    @property
    def is_draft(self):
        return self.state == self.DRAFT

    def as_system(self):
        """This revision's constants as `calc` reads them."""
        return System.from_dict(self.constants)

    @property
    def tape_class(self):
        """The accuracy class of the tapes that the workshop measures with."""
        return self.constants["tape_class"]


class FabricQuerySet(models.QuerySet):
    def offered(self):
        return self.filter(offered=True).in_catalogue_order()

    def in_catalogue_order(self):
        return self.order_by("name", "colour", "vane_width_mm")

    def offered_first(self):
        return self.order_by("-offered", "name", "colour", "vane_width_mm")

    def for_line(self, line):
        """What `line` may be made of: what is offered, and the fabric that it has already."""
        return self.for_lines([line])

    def for_lines(self, lines):
        """What each of `lines` may be made of, and another line beside them."""
        return self.filter(Q(offered=True) | Q(pk__in={line.fabric_id for line in lines})).in_catalogue_order()


class Fabric(models.Model):
    """Fabric on rolls slit to one vane width, so that the roll's width is the vane's."""

    SOFT, RIGID = "soft", "rigid"
    STIFFNESSES = ((SOFT, "Soft"), (RIGID, "Rigid"))

    code = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=60)
    colour = models.CharField(max_length=40)
    vane_width_mm = models.PositiveIntegerField(
        "vane width", choices=[(width, f"{width} mm") for width in VANE_WIDTHS_MM]
    )
    weight_g_per_m2 = models.PositiveIntegerField("weight")
    stiffness = models.CharField(max_length=10, choices=STIFFNESSES, default=SOFT, db_default=SOFT)
    offered = models.BooleanField(default=True, db_default=True)
    added_at = models.DateTimeField(db_default=Now())

    objects = FabricQuerySet.as_manager()

    class Meta:
        constraints = [
            # Heavier than 2000 g/m2 is no blind fabric, and no weight at all would make the mass a lie.
            models.CheckConstraint(
                condition=Q(weight_g_per_m2__gt=0, weight_g_per_m2__lte=2000), name="fabric_weight_is_plausible"
            ),
            models.CheckConstraint(condition=Q(stiffness__in=["soft", "rigid"]), name="fabric_stiffness_is_known"),
        ]

    def __str__(self):
        return f"{self.name} {self.colour}, {self.vane_width_mm} mm"
