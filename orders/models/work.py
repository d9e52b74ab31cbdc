"""Work that goes on outside any request: what it is, how far it is, what it made, and the workers that do it."""

import datetime as dt

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from .customers import Customer
from .orders import Order


class Worker(models.Model):
    """A process that does the work that waits. It counts its `beats`, so that others see it live without any clock."""

    key = models.CharField(max_length=32, primary_key=True)
    host = models.CharField(max_length=100)
    beats = models.PositiveIntegerField(default=0)
    # By the database's clock.
    seen_at = models.DateTimeField()
    gone = models.BooleanField(default=False)

    def __str__(self):
        return f"Worker {self.key} on {self.host}"


class WorkQuerySet(models.QuerySet):
    def open(self):
        return self.filter(state__in=(Work.WAITING, Work.RUNNING))

    def counted(self):
        """(state, how many) of what waits and what goes on."""
        return self.open().order_by().values_list("state").annotate(models.Count("pk"))

    def failed(self, *, since):
        """What ended since the moment `since` without being done, the newest first."""
        return self.filter(state=Work.FAILED, ended_at__gte=since).order_by("-ended_at")

    def of(self, person):
        """What this person asked for, the newest first."""
        return self.filter(by=person).order_by("-pk")

    def old(self, *, at):
        return self.filter(ended_at__lt=at - Work.KEPT)


class Work(models.Model):
    """One piece of work: `what` in words, `done` of `whole`, and what is `said` of how it goes or ended.

    `attempt` counts how often it was begun: whoever does it knows by its attempt that it is still theirs. `task` is its
    place in the queue. Where it ended well, `leads_to` is the address of what it made, if that isn't a file.
    """

    WAITING, RUNNING, DONE, FAILED, CANCELLED = "waiting", "running", "done", "failed", "cancelled"
    STATES = (
        (WAITING, "Waits"),
        (RUNNING, "Going on"),
        (DONE, "Done"),
        (FAILED, "Not done"),
        (CANCELLED, "Cancelled"),
    )
    KEPT = dt.timedelta(days=7)

    what = models.CharField(max_length=200)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    order = models.ForeignKey(Order, null=True, on_delete=models.CASCADE, related_name="works")
    customer = models.ForeignKey(Customer, null=True, on_delete=models.CASCADE, related_name="works")
    # What makes the same wish of the same person the same work, while it is open.
    same = models.CharField(max_length=100, blank=True)
    state = models.CharField(max_length=9, choices=STATES, default=WAITING)
    done = models.PositiveIntegerField(default=0)
    whole = models.PositiveIntegerField(default=0)
    said = models.TextField(blank=True)
    leads_to = models.CharField(max_length=200, blank=True)
    attempt = models.PositiveSmallIntegerField(default=1)
    # How often a worker died of it, perhaps.
    cut_off = models.PositiveSmallIntegerField(default=0)
    task = models.UUIDField(null=True, db_index=True)
    cancelled_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    objects = WorkQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=["waiting", "running", "done", "failed", "cancelled"]), name="work_state_is_known"
            ),
            models.CheckConstraint(
                condition=Q(state__in=["waiting", "running"], ended_at__isnull=True)
                | Q(state__in=["done", "failed", "cancelled"], ended_at__isnull=False),
                name="work_that_ended_says_when",
            ),
            # Two presses at once make one.
            models.UniqueConstraint(
                fields=["by", "same"],
                condition=Q(state__in=["waiting", "running"]) & ~Q(same=""),
                name="the_same_work_is_open_once",
            ),
        ]

    def __str__(self):
        return self.what

    def get_absolute_url(self):
        return reverse("work", args=[self.pk])

    @property
    def is_open(self):
        return self.state in (Work.WAITING, Work.RUNNING)

    @property
    def kept_until(self):
        return self.ended_at and self.ended_at + self.KEPT


class WorkResult(models.Model):
    """The file that a piece of work made. In the database, so that every machine that serves pages has it."""

    MOST_BYTES = 20_000_000

    work = models.OneToOneField(Work, primary_key=True, on_delete=models.CASCADE, related_name="result")
    name = models.CharField(max_length=100)
    content_type = models.CharField(max_length=100)
    content = models.BinaryField()

    def __str__(self):
        return self.name
