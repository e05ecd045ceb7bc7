"""Photos: what was seen, on which vehicle, when and by whom."""

from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from vehicles.models import Vehicle


class PhotoQuerySet(models.QuerySet["Photo"]):
    def visible_to(self, user: object) -> "PhotoQuerySet":
        """Every photo for staff; none for anyone else."""
        return self.all() if getattr(user, "is_shop_staff", False) else self.none()

    def of_vehicle(self, vehicle: Vehicle) -> "PhotoQuerySet":
        return self.filter(vehicle=vehicle)


class Photo(models.Model):
    """One photo, kept small and without anything that the camera wrote into it.

    `client_id` is given by the device that took it: sent twice, it is kept once. `file` lies below
    the folder of photos, its small copy beside it. `taken_at` is the camera's word, None where it
    said nothing; `received_at` is the server's. `marks` has the form of `read_marks`.
    """

    client_id = models.UUIDField(unique=True)
    vehicle = models.ForeignKey(Vehicle, models.PROTECT, related_name="photos")
    subject = models.CharField("what it shows", max_length=80, null=True, blank=True)
    caption = models.CharField(max_length=300, blank=True)
    marks = models.JSONField(default=list, blank=True)
    taken_at = models.DateTimeField(null=True, blank=True)
    received_at = models.DateTimeField(db_default=Now(), editable=False)
    by = models.CharField(max_length=150)
    file = models.CharField(max_length=120, unique=True)
    sha256 = models.CharField(max_length=64)
    received_sha256 = models.CharField(max_length=64)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    version = models.PositiveIntegerField(default=1)

    objects = PhotoQuerySet.as_manager()

    class Meta:
        ordering = ("received_at", "id")
        indexes = (models.Index(fields=["vehicle", "-received_at"], name="photo_by_vehicle"),)
        constraints = (
            models.CheckConstraint(
                condition=Q(width__gt=0) & Q(height__gt=0), name="photo_has_a_size"
            ),
        )

    def __str__(self) -> str:
        return self.caption or self.subject or f"photo of {self.vehicle}"
