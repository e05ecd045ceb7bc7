"""The log book: who changed what, from what to what, and why. Rows are only ever added."""

from django.db import models
from django.db.models.functions import Now


class EventQuerySet(models.QuerySet["Event"]):
    def of_vehicle(self, vehicle_id: int) -> "EventQuerySet":
        return self.filter(vehicle_id=vehicle_id)

    def of_customer(self, customer_id: int) -> "EventQuerySet":
        return self.filter(customer_id=customer_id)


class Event(models.Model):
    """One change. It names its people and records by value, so it outlives them.

    `actor_id`, `vehicle_id` and `customer_id` are plain numbers and not foreign keys: the log is
    the lowest thing in the house, and a deleted row must not be able to take its history along.
    The database itself refuses UPDATE and DELETE (see the migration).
    """

    at = models.DateTimeField(db_default=Now(), editable=False)
    actor_id = models.BigIntegerField(null=True)
    actor = models.CharField(max_length=150)
    verb = models.CharField(max_length=60)
    subject_type = models.CharField(max_length=40)
    subject_id = models.BigIntegerField(null=True)
    subject = models.CharField(max_length=300)
    vehicle_id = models.BigIntegerField(null=True)
    customer_id = models.BigIntegerField(null=True)
    before = models.JSONField(default=dict)
    after = models.JSONField(default=dict)
    why = models.TextField(blank=True)

    objects = EventQuerySet.as_manager()

    class Meta:
        ordering = ("-id",)
        indexes = (
            models.Index(fields=["vehicle_id", "-id"], name="event_by_vehicle"),
            models.Index(fields=["customer_id", "-id"], name="event_by_customer"),
            models.Index(fields=["subject_type", "subject_id", "-id"], name="event_by_subject"),
        )

    def __str__(self) -> str:
        return f"{self.actor} {self.verb} {self.subject}"
