"""Customers' files: those that are looked at or were taken in, and how each customer's columns are read."""

import datetime as dt

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from .customers import Customer
from .orders import Order


class CustomersFileQuerySet(models.QuerySet):
    def waiting(self):
        """Files that are looked at and not taken in yet, the newest first."""
        return self.filter(taken_at__isnull=True).select_related("by").defer("content").order_by("-at", "-pk")

    def taken(self):
        return self.filter(taken_at__isnull=False)

    def taken_last(self):
        """The last files that were taken in, with who did it and what they made."""
        taken = self.taken().select_related("taken_by").defer("content").prefetch_related("orders")
        return taken.order_by("-taken_at")[: CustomersFile.SHOWN]

    def of_customer(self, customer):
        return self.filter(customer=customer)

    def same_as(self, file):
        """Files with the same bytes from the same customer that were taken in already, the last first, with orders."""
        same = self.taken().filter(customer=file.customer_id, digest=file.digest).exclude(pk=file.pk)
        return same.select_related("taken_by").defer("content").prefetch_related("orders").order_by("-taken_at")

    def old(self, *, at):
        """Files that nobody took in for so long that nobody will."""
        return self.filter(taken_at__isnull=True, at__lt=at - CustomersFile.KEPT)


class CustomersFile(models.Model):
    """A file from a customer. Its bytes are kept while it is looked at; once it is taken in, what it made is known."""

    KEPT = dt.timedelta(days=7)
    SHOWN = 20

    customer = models.ForeignKey(Customer, on_delete=models.CASCADE, related_name="files")
    name = models.CharField(max_length=120)
    digest = models.CharField(max_length=64)
    content = models.BinaryField()
    # Sheet, row of the head, what each column is, what is usual, rows left out: as chosen on the file's page.
    choices = models.JSONField(default=dict)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    taken_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    taken_at = models.DateTimeField(null=True)
    orders = models.ManyToManyField(Order, related_name="files")

    objects = CustomersFileQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["customer", "digest"], name="file_by_customer_and_digest")]
        constraints = [
            # Who took a file in is known with when.
            models.CheckConstraint(
                condition=Q(taken_at__isnull=True, taken_by__isnull=True)
                | Q(taken_at__isnull=False, taken_by__isnull=False),
                name="file_taken_in_by_somebody",
            ),
        ]

    def __str__(self):
        return self.name

    def get_absolute_url(self):
        return reverse("file", args=[self.pk])

    @property
    def kept_until(self):
        return self.at + self.KEPT


class CustomersColumns(models.Model):
    """How this customer's files were read last: what each head means, and what stands in where a row says nothing."""

    customer = models.OneToOneField(Customer, on_delete=models.CASCADE, related_name="columns")
    columns = models.JSONField(default=dict)
    usual = models.JSONField(default=dict)

    def __str__(self):
        return f"Columns of {self.customer_id}"
