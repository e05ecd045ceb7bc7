"""Customers, how to reach them, what they agreed to, and which vehicles are theirs."""

from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from vehicles.models import Vehicle


class Category(models.TextChoices):
    """What a message is about. Opting out of one never silences another."""

    SAFETY = "safety", "safety notices"
    SERVICE = "service", "service reminders"
    BOOKING = "booking", "your visits"


class CustomerQuerySet(models.QuerySet["Customer"]):
    def visible_to(self, user: object) -> "CustomerQuerySet":
        """Every customer for staff; none for anyone else."""
        return self.all() if getattr(user, "is_shop_staff", False) else self.none()


class Customer(models.Model):
    name = models.CharField(max_length=150)
    called = models.CharField("what to call them", max_length=80, blank=True)
    address = models.TextField("postal address", blank=True)
    country = models.CharField(max_length=2, default="US")
    language = models.CharField(max_length=10, default="en")
    time_zone = models.CharField(max_length=60, blank=True)
    business_use = models.BooleanField("tows for business", default=False)
    note = models.TextField(blank=True)
    lookup = models.TextField(editable=False, default="")
    version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField(db_default=Now(), editable=False)

    objects = CustomerQuerySet.as_manager()

    class Meta:
        ordering = ("name", "id")

    def __str__(self) -> str:
        return self.name


class ContactPerson(models.Model):
    """Someone who belongs to the customer: may drive, may hook up, may be the one to call."""

    customer = models.ForeignKey(Customer, models.CASCADE, related_name="persons")
    name = models.CharField(max_length=150)
    called = models.CharField("what to call them", max_length=80, blank=True)
    part = models.CharField("part they play", max_length=80, blank=True)
    hooks_up = models.BooleanField("hooks up the vehicle", default=False)

    class Meta:
        ordering = ("id",)

    def __str__(self) -> str:
        return self.name


class Phone(models.Model):
    """A number as typed, the number to dial, and its extension."""

    customer = models.ForeignKey(Customer, models.CASCADE, related_name="phones")
    person = models.ForeignKey(ContactPerson, models.SET_NULL, null=True, blank=True)
    typed = models.CharField(max_length=60)
    e164 = models.CharField(max_length=20, blank=True)
    extension = models.CharField(max_length=10, blank=True)

    class Meta:
        ordering = ("id",)

    def __str__(self) -> str:
        return self.typed


class EmailAddress(models.Model):
    customer = models.ForeignKey(Customer, models.CASCADE, related_name="emails")
    person = models.ForeignKey(ContactPerson, models.SET_NULL, null=True, blank=True)
    address = models.CharField(max_length=254)
    broken_since = models.DateField(null=True, blank=True)
    broken_why = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("id",)
        indexes = (models.Index(fields=["address"], name="email_by_address"),)
        constraints = (
            models.UniqueConstraint(
                fields=["customer", "address"], name="one_address_per_customer"
            ),
        )

    def __str__(self) -> str:
        return self.address


class Consent(models.Model):
    """What the customer last said about a category. No row: nobody asked yet, mails may go."""

    customer = models.ForeignKey(Customer, models.CASCADE, related_name="consents")
    category = models.CharField(max_length=10, choices=Category)
    allowed = models.BooleanField()
    said_at = models.DateTimeField(db_default=Now())
    how = models.CharField(max_length=100)

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=["customer", "category"], name="one_consent_per_category"
            ),
            models.CheckConstraint(
                condition=~Q(category="safety") | Q(allowed=True), name="safety_is_not_opted_out"
            ),
        )

    def __str__(self) -> str:
        return f"{self.customer}: {self.get_category_display()} {'yes' if self.allowed else 'no'}"


class OwnershipQuerySet(models.QuerySet["Ownership"]):
    def current(self) -> "OwnershipQuerySet":
        return self.filter(until__isnull=True)


class Ownership(models.Model):
    """Whose vehicle it is, from when to when. Vehicles outlive their owners."""

    customer = models.ForeignKey(Customer, models.PROTECT, related_name="ownerships")
    vehicle = models.ForeignKey(Vehicle, models.PROTECT, related_name="ownerships")
    since = models.DateField()
    until = models.DateField(null=True, blank=True)
    why_ended = models.CharField(max_length=200, blank=True)

    objects = OwnershipQuerySet.as_manager()

    class Meta:
        ordering = ("-since", "-id")
        constraints = (
            models.UniqueConstraint(
                fields=["vehicle"], condition=Q(until__isnull=True), name="one_owner_at_a_time"
            ),
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(until__gte=models.F("since")),
                name="ownership_dates_in_order",
            ),
        )

    def __str__(self) -> str:
        return f"{self.vehicle} of {self.customer}"
