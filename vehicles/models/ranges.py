"""Model ranges, and the two documents that belong to a range or to one vehicle of it."""

from typing import TYPE_CHECKING, Any

from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now

if TYPE_CHECKING:
    from .vehicle import Vehicle


class Gearbox(models.TextChoices):
    AUTOMATIC = "automatic", "automatic"
    MANUAL = "manual", "manual"
    CVT = "cvt", "continuously variable"
    DUAL_CLUTCH = "dual_clutch", "dual clutch"
    SINGLE_SPEED = "single_speed", "single speed"


class Drive(models.TextChoices):
    FRONT = "front", "front drive"
    REAR = "rear", "rear drive"
    ALL = "all", "all-wheel drive"
    FOUR = "four", "four-wheel drive, transfer case"


class ModelRangeQuerySet(models.QuerySet["ModelRange"]):
    def matching(
        self, *, make: str, model: str, year: int | None, engine: str, gearbox: str, drive: str
    ) -> "ModelRangeQuerySet":
        """Ranges that fit this vehicle, end years included.

        A range with a blank engine, gearbox or drive fits any; a *vehicle* with a blank one fits
        only such a range, because whether it may be towed can hang on just that. No year, no range.
        """
        if year is None:
            return self.none()
        return self.filter(
            Q(engine="") | Q(engine__iexact=engine),
            Q(gearbox="") | Q(gearbox=gearbox),
            Q(drive="") | Q(drive=drive),
            make__iexact=make,
            model__iexact=model,
            year_from__lte=year,
            year_to__gte=year,
        )


class ModelRange(models.Model):
    make = models.CharField(max_length=60)
    model = models.CharField(max_length=60)
    year_from = models.PositiveSmallIntegerField()
    year_to = models.PositiveSmallIntegerField()
    engine = models.CharField(max_length=60, blank=True)
    gearbox = models.CharField(max_length=20, choices=Gearbox, blank=True)
    drive = models.CharField(max_length=10, choices=Drive, blank=True)
    note = models.TextField(blank=True)
    version = models.PositiveIntegerField(default=1)

    objects = ModelRangeQuerySet.as_manager()

    class Meta:
        ordering = ("make", "model", "year_from")
        constraints = (
            models.UniqueConstraint(
                fields=["make", "model", "year_from", "year_to", "engine", "gearbox", "drive"],
                name="one_range_per_identity",
            ),
            models.CheckConstraint(
                condition=Q(year_to__gte=models.F("year_from")), name="range_years_in_order"
            ),
        )

    def __str__(self) -> str:
        years = str(self.year_from)
        if self.year_to != self.year_from:
            years = f"{self.year_from}-{self.year_to}"
        parts = [years, self.make, self.model, self.engine]
        if self.gearbox:
            parts.append(self.get_gearbox_display())
        if self.drive:
            parts.append(self.get_drive_display())
        return " ".join(part for part in parts if part)


class RevisionQuerySet(models.QuerySet[Any]):
    def current(self) -> "RevisionQuerySet":
        return self.filter(is_current=True)

    def in_force_for(self, vehicle: "Vehicle") -> Any | None:
        """The vehicle's own current revision, else that of its range, else None."""
        whose = Q(vehicle_id=vehicle.pk)
        if vehicle.model_range_id:
            whose |= Q(model_range_id=vehicle.model_range_id)
        return self.current().filter(whose).order_by(F("vehicle_id").asc(nulls_last=True)).first()

    def in_force_for_range(self, model_range: "ModelRange | None") -> Any | None:
        """The current revision of a range."""
        if model_range is None:
            return None
        return self.current().filter(model_range=model_range).first()


class Revision(models.Model):
    """An immutable numbered revision of a document about a range, or about one vehicle of it.

    Whatever is written later is a new row; only `is_current` moves on. A vehicle's own revision
    goes before that of its range and is never copied to another vehicle.
    """

    model_range = models.ForeignKey(ModelRange, models.PROTECT, null=True, blank=True)
    vehicle = models.ForeignKey("vehicles.Vehicle", models.PROTECT, null=True, blank=True)
    number = models.PositiveIntegerField()
    is_current = models.BooleanField(default=True)
    content = models.JSONField()
    note = models.TextField(blank=True)
    written_at = models.DateTimeField(db_default=Now(), editable=False)
    written_by = models.CharField(max_length=150)

    objects = RevisionQuerySet.as_manager()

    class Meta:
        abstract = True
        ordering = ("-number",)

    def __str__(self) -> str:
        return f"revision {self.number} for {self.vehicle or self.model_range}"


def _revision_constraints(name: str) -> tuple[models.BaseConstraint, ...]:
    of_range, of_vehicle = Q(model_range__isnull=False), Q(vehicle__isnull=False)
    return (
        models.CheckConstraint(
            condition=(of_range & Q(vehicle__isnull=True))
            | (of_vehicle & Q(model_range__isnull=True)),
            name=f"{name}_of_range_or_vehicle",
        ),
        models.UniqueConstraint(
            fields=["model_range", "number"], condition=of_range, name=f"{name}_number_in_range"
        ),
        models.UniqueConstraint(
            fields=["vehicle", "number"], condition=of_vehicle, name=f"{name}_number_in_vehicle"
        ),
        models.UniqueConstraint(
            fields=["model_range"],
            condition=of_range & Q(is_current=True),
            name=f"{name}_current_in_range",
        ),
        models.UniqueConstraint(
            fields=["vehicle"],
            condition=of_vehicle & Q(is_current=True),
            name=f"{name}_current_in_vehicle",
        ),
    )


class FeedMapRevision(Revision):
    """What has power from where. `content` has the form of `FeedMap.to_dict()`."""

    class Meta(Revision.Meta):
        constraints = _revision_constraints("feedmap")


class ProcedureRevision(Revision):
    """How the vehicle is made ready for towing. `content` has the form of `Procedure.to_dict()`."""

    class Verdict(models.TextChoices):
        ALLOWED = "allowed", "allowed"
        NOT_ALLOWED = "not_allowed", "not allowed"
        NOT_ESTABLISHED = "not_established", "not established"

    verdict = models.CharField(max_length=20, choices=Verdict)
    source_kind = models.CharField(max_length=20, blank=True)

    class Meta(Revision.Meta):
        constraints = _revision_constraints("procedure")
