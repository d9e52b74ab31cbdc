"""What happened to the blinds: only ever added."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from orders.models import SystemRevision

from .. import route
from .choices import STATION_CHOICES
from .tablets import Tablet


class StationEventQuerySet(models.QuerySet):
    def of_blind(self, blind):
        return self.filter(blind=blind).order_by("sequence")

    def newest(self, *, before):
        """The random id of the newest event before the moment `before`, of whatever kind so that no database reads all
        of one; or None."""
        return self.filter(at__lt=before).order_by("-pk").values_list("event_id", flat=True).first()

    def finished(self, *, since, before):
        """What was finished from the moment `since` on and before `before`; by station, as it is indexed."""
        stations = list(route.STATION)
        return self.filter(kind=route.FINISH, station__in=stations, at__gte=since, at__lt=before)

    def at_work(self, *, since, before):
        """Whatever takes a blind in hand or out of it, from the moment `since` on and before `before`, in no order."""
        return self.filter(kind__in=route.IN_AND_OUT, station__in=["", *route.STATION], at__gte=since, at__lt=before)

    def of_finished(self, *, since, before):
        """What was done to the blinds that were finished anywhere between the two moments, up to `before`, blind by
        blind as it happened: (blind, spec, station, kind, attempt, moment), steps left out."""
        finished = self.finished(since=since, before=before)
        kinds = (route.START, route.PAUSE, route.RESUME, route.FINISH, route.SEND_BACK)
        found = self.filter(blind__in=finished.values("blind"), kind__in=kinds, at__lt=before)
        fields = ("blind", "blind__spec", "station", "kind", "attempt", "at")
        return found.order_by("blind", "sequence").values_list(*fields)

    def with_person(self):
        return self.select_related("person", "tablet")

    def making_by(self, person):
        """What this person did to blinds where they are made."""
        return self.filter(person=person, station__in=route.MADE_AT)

    def makers_of(self, blind):
        """Where each person first had a hand in making the blind with this key: {person's key: station}."""
        made = self.filter(blind=blind, station__in=route.MADE_AT).order_by("-sequence")
        return dict(made.values_list("person", "station"))

    def made_by(self, person, *, blinds):
        """The keys of those of `blinds` that this person had a hand in making, in no order."""
        return self.making_by(person).filter(blind__in=blinds).order_by().values_list("blind", flat=True).distinct()

    def setbacks_of(self, blinds):
        """Why these blinds were paused, sent back or changed, the latest last."""
        wanted = self.filter(blind__in=blinds, kind__in=(route.PAUSE, route.SEND_BACK, route.AMEND))
        return wanted.select_related("person").order_by("blind", "sequence")

    def that_voided(self, *, blind, remake):
        """What made papers of that number void: the fault or the change from which the next ones came."""
        return self.filter(blind=blind, data__remake=remake + 1).select_related("person").get()

    def last_change(self, blind):
        """The newest accepted change of `blind`, or None."""
        return self.filter(blind=blind, kind=route.AMEND).select_related("person").order_by("sequence").last()

    def tablets_used(self, *, since):
        """The keys of the tablets on which anything was recorded since the moment `since`."""
        found = self.filter(kind__in=route.AT_A_STATION, station__in=list(route.STATION), at__gte=since)
        return set(found.exclude(tablet=None).order_by().values_list("tablet", flat=True).distinct())

    def newest_at(self, tablet):
        """What was recorded last on `tablet`, or None."""
        return self.filter(tablet=tablet).order_by("-pk").first()

    def counted(self, *, since):
        """(station, kind, how many) of what was recorded at stations since the moment `since`."""
        found = self.filter(kind__in=route.AT_A_STATION, station__in=list(route.STATION), at__gte=since).order_by()
        return found.values_list("station", "kind").annotate(models.Count("pk"))

    def faults_counted(self):
        """How often each kind of fault was recorded, by its key."""
        found = self.filter(kind=route.SEND_BACK).order_by().values_list("data__fault")
        return dict(found.annotate(models.Count("pk")))

    def update(self, **kwargs):
        raise TypeError("An event is never changed. Record another one that puts it right.")

    def delete(self):
        raise TypeError("An event is never deleted. Record another one that puts it right.")


class StationEvent(models.Model):
    """Something that happened to a blind: who, where, what, when, at which revision. Only ever added."""

    event_id = models.UUIDField(unique=True)
    blind = models.ForeignKey("production.Blind", on_delete=models.PROTECT, related_name="events")
    sequence = models.PositiveIntegerField()
    kind = models.CharField(max_length=10, choices=[(kind, kind.replace("_", " ")) for kind in route.KINDS])
    station = models.CharField(max_length=10, choices=STATION_CHOICES, blank=True)
    attempt = models.PositiveIntegerField(default=1)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    tablet = models.ForeignKey(Tablet, null=True, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    # When it reached the server, where it waited on a tablet without network first.
    received_at = models.DateTimeField(null=True)
    revision = models.ForeignKey(SystemRevision, on_delete=models.PROTECT, related_name="+")
    data = models.JSONField(default=dict, blank=True)

    objects = StationEventQuerySet.as_manager()

    class Meta:
        constraints = [
            # Two writers that saw the same past can't both add to it.
            models.UniqueConstraint(fields=["blind", "sequence"], name="one_event_per_sequence"),
            models.CheckConstraint(condition=Q(kind__in=list(route.KINDS)), name="event_kind_is_known"),
            # What the office does happens away from a station, and nothing else.
            models.CheckConstraint(
                condition=Q(kind__in=list(route.BY_THE_OFFICE), station="")
                | Q(kind__in=list(route.AT_A_STATION), station__in=list(route.STATION)),
                name="event_is_at_a_known_station",
            ),
        ]
        indexes = [models.Index(fields=["kind", "station", "at"], name="event_by_kind_station_and_time")]

    def __str__(self):
        return f"{self.blind} {self.kind} {self.station}"

    def save(self, *args, **kwargs):
        if self.pk:
            raise TypeError("An event is never changed. Record another one that puts it right.")
        super().save(*args, **kwargs)

    def delete(self, *args, **kwargs):
        raise TypeError("An event is never deleted. Record another one that puts it right.")

    @property
    def back_to(self):
        """The stations to which a fault went back."""
        return (self.data["back_to"], *self.data.get("beside", ()))
