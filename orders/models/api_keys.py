"""The keys that other programs ask with, and the orders that they posted."""

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from .customers import Customer
from .orders import Order

ORDERS_WRITE, ORDERS_READ, STATES_READ = "orders:write", "orders:read", "states:read"
SCOPES = (
    (ORDERS_WRITE, "post orders"),
    (ORDERS_READ, "read orders with their lines"),
    (STATES_READ, "read how far orders and blinds are, and what has changed"),
)


def known_scopes(value):
    unknown = [scope for scope in value if scope not in dict(SCOPES)] if isinstance(value, list) else [value]
    if unknown:
        raise ValidationError(f"No such scope: {', '.join(map(str, unknown))}. Choose from {', '.join(dict(SCOPES))}.")


class ApiKeyQuerySet(models.QuerySet):
    def in_use_first(self):
        """With who made and revoked them and for whom they are; those in use first, the newest at the top."""
        people = self.select_related("made_by", "revoked_by").prefetch_related("customers")
        return people.order_by(models.F("revoked_at").desc(nulls_first=True), "-made_at", "-pk")

    def in_use(self):
        return self.filter(revoked_at=None)


class ApiKey(models.Model):
    """What one program asks with. It is for every customer, or for the named ones alone."""

    name = models.CharField(max_length=60, unique=True)
    # SHA-256 of the key, which is 256 random bits and shown once: whoever reads the database can't ask with it.
    secret = models.CharField(max_length=64, unique=True, editable=False)
    scopes = models.JSONField(default=list, validators=[known_scopes])
    every_customer = models.BooleanField(default=False)
    customers = models.ManyToManyField(Customer, blank=True, related_name="+")
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    last_used_at = models.DateTimeField(null=True, editable=False)
    # When all its requests are back: each one moves it on.
    turns_until = models.DateTimeField(null=True, editable=False)
    revoked_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    revoked_at = models.DateTimeField(null=True, editable=False)

    objects = ApiKeyQuerySet.as_manager()

    class Meta:
        constraints = [
            # Who took a key away is on record.
            models.CheckConstraint(
                condition=Q(revoked_at=None, revoked_by=None) | Q(revoked_at__isnull=False, revoked_by__isnull=False),
                name="api_key_is_revoked_by_somebody",
            ),
        ]

    def __str__(self):
        return self.name

    def may(self, scope):
        return scope in self.scopes

    @property
    def scope_words(self):
        """What it may do, as people say it."""
        return ", ".join(words for scope, words in SCOPES if scope in self.scopes)

    def own(self, orders):
        """Those of `orders`, a queryset, that this key may know of."""
        return orders if self.every_customer else orders.filter(customer__in=self.customers.all())


class PostedOrderQuerySet(models.QuerySet):
    def under(self, *, key, idempotency_key):
        """What `key` posted under that idempotency key, or None."""
        return self.filter(key=key, idempotency_key=idempotency_key).first()

    def key_name(self, order):
        """What the key is called with which `order` was posted, or None where people entered it."""
        return self.filter(order=order).values_list("key__name", flat=True).first()


class PostedOrder(models.Model):
    """An order that a program posted, with what it was answered: the same post again gets the same answer. Kept as
    long as the order."""

    key = models.ForeignKey(ApiKey, on_delete=models.PROTECT, related_name="+")
    idempotency_key = models.CharField(max_length=64)
    # SHA-256 of what was posted, so that another post under the same key is told from the same one again.
    digest = models.CharField(max_length=64)
    order = models.OneToOneField(Order, on_delete=models.PROTECT, related_name="posted")
    # As text, so that it is answered again letter by letter.
    answer = models.TextField()
    at = models.DateTimeField()

    objects = PostedOrderQuerySet.as_manager()

    class Meta:
        constraints = [
            # A program that posts again must not order twice.
            models.UniqueConstraint(fields=["key", "idempotency_key"], name="one_order_per_idempotency_key"),
        ]

    def __str__(self):
        return f"{self.order} by {self.key}"
