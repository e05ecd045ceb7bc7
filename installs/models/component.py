"""Kinds of component, single components, and where each is or was fitted."""

from django.db import models
from django.db.models import Exists, OuterRef, Q, Subquery
from django.db.models.functions import Now

from vehicles.models import Vehicle


class ComponentKind(models.Model):
    """What a part of this kind needs. `ports` and `cures` have the forms of `Kind.from_dict`."""

    class Duty(models.TextChoices):
        """The same as `installs.domain.looks.Duty`, in the words of the office."""

        BRAKE = "brake", "it is a brake unit"
        BREAKAWAY = "breakaway", "it acts after a breakaway"
        STOP_LAMPS = "stop_lamps", "it switches stop lamps or brake unit"
        SUPPLY = "supply", "it feeds a brake unit"
        COUPLING = "coupling", "it holds the vehicle behind the coach"
        OTHER = "other", "none of these"

    class Role(models.TextChoices):
        NONE = "", "none of these"
        TOW_BAR = "tow_bar", "tow bar"
        BASE_PLATE = "base_plate", "base plate"
        SAFETY_CABLES = "safety_cables", "safety cables"
        COUPLER = "coupler", "ball or drawbar"
        BRAKE_UNIT = "brake_unit", "brake unit"
        BREAKAWAY_BATTERY = "breakaway_battery", "breakaway battery"

    slug = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=80)
    role = models.CharField(
        "place in the tow chain", max_length=20, choices=Role, blank=True, default=""
    )
    ports = models.JSONField(default=list, blank=True)
    cures = models.JSONField(default=list, blank=True)
    cure_text = models.CharField("how it cures", max_length=300, blank=True)
    duty = models.CharField("what hangs on it", max_length=12, choices=Duty, blank=True)
    life_years = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)
    life_basis = models.CharField(max_length=200, blank=True)
    wears = models.TextField("what wears", blank=True)
    note = models.TextField(blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name


class ComponentQuerySet(models.QuerySet["Component"]):
    def visible_to(self, user: object) -> "ComponentQuerySet":
        """Every component for staff; none for anyone else."""
        return self.all() if getattr(user, "is_shop_staff", False) else self.none()

    def on_the_shelf(self) -> "ComponentQuerySet":
        return self.filter(state=Component.State.IN_STOCK)


class Component(models.Model):
    """One part with its own life: serial, lot, date code. It may move; its history goes along.

    `rating_kg` is what its label lets it be towed with (of a pair: each of the two), `least_kg` the
    lower end where the label gives a range. `as_typed` keeps, per field, what a person entered.
    """

    class State(models.TextChoices):
        IN_STOCK = "in_stock", "on the shelf"
        FITTED = "fitted", "fitted"
        REMOVED = "removed", "taken out"
        HELD = "held", "held back"
        SCRAPPED = "scrapped", "scrapped"

    class RatingBasis(models.TextChoices):
        UNKNOWN = "", "not recorded"
        BREAKING = "breaking", "the load that breaks it"
        WORKING = "working", "the load to work with"

    kind = models.ForeignKey(ComponentKind, models.PROTECT, related_name="components")
    maker_model = models.CharField("maker and model", max_length=80, blank=True)
    serial = models.CharField(max_length=60, blank=True)
    lot = models.CharField(max_length=40, blank=True)
    date_code = models.DateField(null=True, blank=True)
    date_code_typed = models.CharField("date code as marked", max_length=20, blank=True)
    state = models.CharField(max_length=10, choices=State, default=State.IN_STOCK)
    rating_kg = models.DecimalField("rating", max_digits=9, decimal_places=2, null=True, blank=True)
    least_kg = models.DecimalField(
        "lower end of its range", max_digits=9, decimal_places=2, null=True, blank=True
    )
    rating_basis = models.CharField(max_length=10, choices=RatingBasis, blank=True, default="")
    rating_source = models.CharField("where the rating is read", max_length=120, blank=True)
    capacity_ah = models.DecimalField(
        "amp-hours", max_digits=6, decimal_places=1, null=True, blank=True
    )
    as_typed = models.JSONField(default=dict, blank=True)
    shared = models.BooleanField("used on more than one vehicle in turn", default=False)
    note = models.TextField(blank=True)
    lookup = models.TextField(editable=False, default="")
    version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField(db_default=Now(), editable=False)

    objects = ComponentQuerySet.as_manager()

    class Meta:
        ordering = ("kind__name", "serial", "id")
        constraints = (
            models.UniqueConstraint(
                fields=["kind", "serial"],
                condition=~Q(serial=""),
                name="one_component_per_kind_and_serial",
            ),
            models.CheckConstraint(
                condition=Q(rating_kg__isnull=True) | Q(rating_kg__gt=0), name="rating_above_zero"
            ),
            models.CheckConstraint(
                condition=Q(rating_kg__isnull=True)
                | Q(least_kg__isnull=True)
                | Q(least_kg__lte=models.F("rating_kg")),
                name="range_not_upside_down",
                violation_error_message="The lower end of its range is above the upper one.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.kind} {self.serial}".strip()


class FittingQuerySet(models.QuerySet["Fitting"]):
    def current(self) -> "FittingQuerySet":
        return self.filter(until__isnull=True)

    def on_sheets(self) -> "FittingQuerySet":
        """What a vehicle is judged with: its current parts, and shared ones set up here before.

        A unit that serves several vehicles in turn is set up on each of them. While it is with
        another one, its last set-up here is still what this vehicle is proven with.
        """
        later_here = Fitting.objects.filter(
            component=OuterRef("component"), vehicle=OuterRef("vehicle"), id__gt=OuterRef("id")
        )
        set_up_here = Q(component__shared=True, set_up_stays=True) & ~Exists(later_here)
        return self.with_first_here().filter(Q(until__isnull=True) | set_up_here)

    def with_first_here(self) -> "FittingQuerySet":
        """Add `first_here`: the number of the part's first fitting on the same vehicle."""
        here = Fitting.objects.filter(component=OuterRef("component"), vehicle=OuterRef("vehicle"))
        return self.annotate(first_here=Subquery(here.order_by("id").values("id")[:1]))


class Fitting(models.Model):
    """A component on a vehicle from a day to a day, with what it is wired to.

    `ports` has the form of `FittingPorts.to_dict()`: per port its feed, ground and wire.
    """

    component = models.ForeignKey(Component, models.PROTECT, related_name="fittings")
    vehicle = models.ForeignKey(Vehicle, models.PROTECT, related_name="fittings")
    since = models.DateField()
    until = models.DateField(null=True, blank=True)
    place = models.CharField("where mounted", max_length=120, blank=True)
    ports = models.JSONField(default=dict, blank=True)
    wiring_left_in = models.BooleanField(default=False)
    # The part went to another car of the same household and comes back to this very set-up.
    set_up_stays = models.BooleanField(default=False)
    why_ended = models.CharField(max_length=200, blank=True)
    note = models.TextField(blank=True)
    version = models.PositiveIntegerField(default=1)

    objects = FittingQuerySet.as_manager()

    # Only on rows read by `with_first_here`.
    first_here: int

    class Meta:
        ordering = ("-since", "-id")
        indexes = (models.Index(fields=["vehicle", "until"], name="fitting_by_vehicle"),)
        constraints = (
            models.UniqueConstraint(
                fields=["component"],
                condition=Q(until__isnull=True),
                name="one_place_at_a_time",
            ),
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(until__gte=models.F("since")),
                name="fitting_dates_in_order",
            ),
        )

    def __str__(self) -> str:
        return f"{self.component} on {self.vehicle}"
