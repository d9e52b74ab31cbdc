"""Customers, and how they are found."""

from django.db import models
from django.db.models import Q
from django.urls import reverse

from calc import spec
from orders import search

from .choices import choices
from .endings import CustomerEnding
from .sought import KeepsSought, SoughtField, SoughtQuerySet


class CustomerQuerySet(SoughtQuerySet):
    def by_name(self):
        return self.order_by("name", "pk")

    def keyed(self, key):
        """The customer with primary key `key`, which may be any text, or None."""
        return (
            self.filter(pk=key).first() if str(key).isascii() and str(key).isdecimal() and len(str(key)) < 18 else None
        )

    def with_open_orders(self):
        return self.annotate(
            open_orders=models.Count("orders", filter=Q(orders__state__in=self.model.orders.rel.related_model.OPEN))
        )

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
