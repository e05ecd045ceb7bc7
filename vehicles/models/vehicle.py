"""Motorhomes, towed vehicles, who tows what, and what was read off them."""

from typing import Any

from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from .ranges import Drive, Gearbox, ModelRange


class VehicleQuerySet(models.QuerySet["Vehicle"]):
    def visible_to(self, user: object) -> "VehicleQuerySet":
        """Every vehicle for staff; none for anyone else."""
        return self.all() if getattr(user, "is_shop_staff", False) else self.none()

    def towed(self) -> "VehicleQuerySet":
        return self.filter(kind=Vehicle.Kind.TOWED)

    def motorhomes(self) -> "VehicleQuerySet":
        return self.filter(kind=Vehicle.Kind.MOTORHOME)


class Vehicle(models.Model):
    """One vehicle; it outlives its owners.

    A motorhome carries two identities: the chassis (`vin`, `chassis_make`, `chassis_year`) and the
    coach built on it (`make`, `model`, `year`, `coach_serial`). Masses are kilograms; `as_typed`
    keeps, per field, the number and unit that a person entered.
    """

    class Kind(models.TextChoices):
        MOTORHOME = "motorhome", "motorhome"
        TOWED = "towed", "towed vehicle"

    class LampScheme(models.TextChoices):
        UNKNOWN = "", "not recorded"
        COMBINED = "combined", "stop and turn in one lamp"
        SEPARATE = "separate", "separate turn lamps"

    class BatteryType(models.TextChoices):
        UNKNOWN = "", "not recorded"
        FLOODED = "flooded", "flooded"
        AGM = "agm", "AGM"
        GEL = "gel", "gel"

    class WeightKind(models.TextChoices):
        NONE = "", "not weighed"
        SCALED_LOADED = "scaled_loaded", "scale ticket, loaded"
        SCALED_EMPTY = "scaled_empty", "scale ticket, empty"
        BROCHURE = "brochure", "maker's figure"

    kind = models.CharField(max_length=10, choices=Kind)
    vin = models.CharField("VIN", max_length=25, blank=True)
    plate = models.CharField(max_length=20, blank=True)
    make = models.CharField(max_length=60)
    model = models.CharField(max_length=60, blank=True)
    year = models.PositiveSmallIntegerField("model year", null=True, blank=True)
    colour = models.CharField(max_length=30, blank=True)

    model_range = models.ForeignKey(ModelRange, models.PROTECT, null=True, blank=True)
    engine = models.CharField(max_length=60, blank=True)
    gearbox = models.CharField(max_length=20, choices=Gearbox, blank=True)
    drive = models.CharField(max_length=10, choices=Drive, blank=True)

    chassis_make = models.CharField(max_length=60, blank=True)
    chassis_year = models.PositiveSmallIntegerField(null=True, blank=True)
    coach_serial = models.CharField(max_length=40, blank=True)
    gcwr_kg = models.DecimalField("GCWR", max_digits=9, decimal_places=2, null=True, blank=True)
    hitch_rating_kg = models.DecimalField(max_digits=9, decimal_places=2, null=True, blank=True)
    receiver_kg = models.DecimalField(
        "receiver rating", max_digits=9, decimal_places=2, null=True, blank=True
    )
    lamp_scheme = models.CharField(max_length=10, choices=LampScheme, blank=True, default="")

    battery_ah = models.DecimalField(
        "battery, amp-hours", max_digits=6, decimal_places=1, null=True, blank=True
    )
    battery_type = models.CharField(max_length=10, choices=BatteryType, blank=True, default="")

    gvwr_kg = models.DecimalField("GVWR", max_digits=9, decimal_places=2, null=True, blank=True)
    weight_kg = models.DecimalField(max_digits=9, decimal_places=2, null=True, blank=True)
    weight_kind = models.CharField(max_length=20, choices=WeightKind, blank=True, default="")
    weighed_on = models.DateField(null=True, blank=True)
    as_typed = models.JSONField(default=dict, blank=True)

    note = models.TextField(blank=True)
    lookup = models.TextField(editable=False, default="")
    version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField(db_default=Now(), editable=False)

    objects = VehicleQuerySet.as_manager()

    class Meta:
        ordering = ("make", "model", "year", "id")
        indexes = (
            models.Index(fields=["vin"], name="vehicle_by_vin"),
            models.Index(fields=["kind", "make", "model"], name="vehicle_by_kind"),
        )
        constraints = (
            models.CheckConstraint(
                condition=Q(kind="motorhome")
                | Q(
                    chassis_make="",
                    chassis_year__isnull=True,
                    coach_serial="",
                    gcwr_kg__isnull=True,
                    hitch_rating_kg__isnull=True,
                    receiver_kg__isnull=True,
                ),
                name="coach_fields_only_on_motorhome",
            ),
            models.CheckConstraint(
                condition=Q(gvwr_kg__isnull=True)
                | Q(gcwr_kg__isnull=True)
                | Q(gvwr_kg__lt=models.F("gcwr_kg")),
                name="gvwr_below_gcwr",
                violation_error_message="The GVWR is not below the GCWR: read the label again.",
            ),
            models.CheckConstraint(
                condition=Q(kind="towed") | Q(model_range__isnull=True),
                name="range_only_on_towed",
            ),
        )

    def __str__(self) -> str:
        return " ".join(str(part) for part in (self.year, self.make, self.model) if part)

    @property
    def is_motorhome(self) -> bool:
        return self.kind == self.Kind.MOTORHOME


class CombinationQuerySet(models.QuerySet["Combination"]):
    def visible_to(self, user: object) -> "CombinationQuerySet":
        """Every combination for staff; none for anyone else."""
        return self.all() if getattr(user, "is_shop_staff", False) else self.none()

    def current(self) -> "CombinationQuerySet":
        return self.filter(until__isnull=True)


def _length(label: str) -> "models.DecimalField[Any, Any]":
    return models.DecimalField(label, max_digits=8, decimal_places=1, null=True, blank=True)


class Combination(models.Model):
    """Which motorhome tows which vehicle, from when to when, and what was measured as hitched.

    Lengths are millimetres, masses kilograms; `as_typed` keeps what a person entered, per field.
    What the coach, the car or a fitted part brings along is recorded there and not here.
    """

    class Anchor(models.TextChoices):
        UNKNOWN = "", "not looked at"
        FRAME_EYE = "FRAME_EYE", "an eye on the motorhome's frame"
        RECEIVER = "RECEIVER", "the receiver"
        BALL_MOUNT = "BALL_MOUNT", "the ball mount"
        CABLE_HOOK = "CABLE_HOOK", "a safety cable's hook"
        TOW_BAR = "TOW_BAR", "the tow bar"

    class BallMount(models.TextChoices):
        UNKNOWN = "", "not looked at"
        NONE = "none", "none: the bar sits in the receiver itself"
        THERE = "there", "a ball mount or drop lies between"

    motorhome = models.ForeignKey(Vehicle, models.PROTECT, related_name="tows")
    towed = models.ForeignKey(Vehicle, models.PROTECT, related_name="towed_by")
    since = models.DateField()
    until = models.DateField(null=True, blank=True)
    note = models.TextField(blank=True)

    ball_mount = models.CharField(
        "ball mount or drop", max_length=5, choices=BallMount, blank=True, default=""
    )
    ball_mount_kg = models.DecimalField(
        "ball mount or drop, rating", max_digits=9, decimal_places=2, null=True, blank=True
    )
    bar_length_mm = _length("tow bar, length")
    bar_rise_mm = _length("tow bar, height between its ends")
    cables_mm = _length("safety cables, free length")
    lanyard_mm = _length("breakaway lanyard, free length")
    cord_mm = _length("umbilical cord, free length")
    slack_mm = _length("cables, slack when straight")
    full_lock_mm = _length("cables, taken by the tightest turn")
    loop_mm = _length("cables, lowest point above the ground")
    lanyard_anchor = models.CharField(max_length=12, choices=Anchor, blank=True, default="")
    measured_on = models.DateField(null=True, blank=True)
    as_typed = models.JSONField(default=dict, blank=True)
    version = models.PositiveIntegerField(default=1)

    objects = CombinationQuerySet.as_manager()

    class Meta:
        ordering = ("-since", "-id")
        constraints = (
            models.UniqueConstraint(
                fields=["motorhome", "towed"],
                condition=Q(until__isnull=True),
                name="one_open_combination_per_pair",
            ),
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(until__gte=models.F("since")),
                name="combination_dates_in_order",
            ),
            models.CheckConstraint(
                condition=~Q(motorhome=models.F("towed")), name="nothing_tows_itself"
            ),
        )

    def __str__(self) -> str:
        return f"{self.towed} behind {self.motorhome}"


class Reading(models.Model):
    """A figure read off a vehicle on a day. `value` is canonical, `typed` is what was entered.

    The odometer and the distance towed are two logs: many odometers stand still while the
    vehicle is towed, so neither is ever worked out from the other.
    """

    class What(models.TextChoices):
        ODOMETER = "odometer_km", "odometer"
        TOWED = "towed_km", "distance towed"
        BATTERY = "battery_v", "battery, rested"
        DRAW = "draw_a", "current from its battery, ready to tow"
        CHARGE = "charge_a", "current of the charge line, as towed"
        HOLD = "hold_a", "current from the breakaway battery, pin pulled"

    vehicle = models.ForeignKey(Vehicle, models.PROTECT, related_name="readings")
    what = models.CharField(max_length=20, choices=What)
    value = models.DecimalField(max_digits=12, decimal_places=3)
    typed = models.CharField(max_length=40)
    on = models.DateField()
    by = models.CharField(max_length=150)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ("-on", "-id")
        indexes = (models.Index(fields=["vehicle", "what", "-on"], name="reading_by_vehicle"),)

    def __str__(self) -> str:
        return f"{self.get_what_display()} {self.typed} on {self.on}"
