"""Proofs, what makes them stale, inspections, and where each vehicle stands."""

from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.db.models.functions import Now

from vehicles.models import ProcedureRevision, Vehicle

from .component import Component, Fitting


class Verification(models.Model):
    """A signed proof. It binds one basis (see installs.domain.basis) to measured values.

    `measured` is a list of {"component", "port", "state", "volts", "minutes_since_key_off"}.
    Rows are never changed after they are written except for `stale_on` and `stale_why`.
    """

    vehicle = models.ForeignKey(Vehicle, models.PROTECT, related_name="verifications")
    procedure = models.ForeignKey(ProcedureRevision, models.PROTECT, null=True)
    basis = models.JSONField()
    fingerprint = models.CharField(max_length=64)
    measured = models.JSONField(default=list)
    proven_on = models.DateField()
    signed_by = models.CharField(max_length=150)
    signed_by_id = models.BigIntegerField(null=True)
    signed_at = models.DateTimeField(db_default=Now(), editable=False)
    note = models.TextField(blank=True)
    stale_on = models.DateField(null=True, blank=True)
    stale_why = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ("-proven_on", "-id")
        indexes = (models.Index(fields=["vehicle", "-proven_on"], name="proof_by_vehicle"),)

    def __str__(self) -> str:
        return f"proof of {self.proven_on} for {self.vehicle}"


class ReverificationQuerySet(models.QuerySet["Reverification"]):
    def open(self) -> "ReverificationQuerySet":
        return self.filter(state=Reverification.State.OPEN)

    def to_prove(self) -> "ReverificationQuerySet":
        """The open ones of vehicles that may be towed: nobody proves one that must not be."""
        return self.open().exclude(vehicle__standing__proof=Standing.Proof.NOT_TOWED)

    def with_proven(self) -> "ReverificationQuerySet":
        """Tell of each as `proven` whether its vehicle was ever proven: again, or a first time."""
        earlier = Verification.objects.filter(vehicle=OuterRef("vehicle"))
        return self.annotate(proven=Exists(earlier))


class Reverification(models.Model):
    """A vehicle must be proven again, why, and what differs from the last proof."""

    class Cause(models.TextChoices):
        VEHICLE_ADDED = "vehicle_added", "a vehicle was added"
        PROCEDURE = "procedure", "the tow procedure has a new revision"
        FEED_MAP = "feed_map", "the feed map was corrected"
        FITTING = "fitting", "a part was fitted, moved or rewired"
        KIND = "kind", "what a part needs was corrected"
        OUTSIDE_WORK = "outside_work", "brake or electrical work was done elsewhere"
        INSPECTION = "inspection", "an inspection found a part that stopped working"
        LIMIT = "limit", "a limit was changed"
        NIGHTLY = "nightly", "the nightly judgement found a difference"

    class State(models.TextChoices):
        OPEN = "open", "to be proven"
        DONE = "done", "proven"
        WITHDRAWN = "withdrawn", "no longer needed"

    vehicle = models.ForeignKey(Vehicle, models.PROTECT, related_name="reverifications")
    cause = models.CharField(max_length=20, choices=Cause)
    differences = models.JSONField(default=list)
    # What no record shows, such as work done elsewhere; it is told before the differences.
    told = models.JSONField("told by a person", default=list, blank=True)
    against = models.ForeignKey(
        Verification, models.PROTECT, null=True, blank=True, related_name="made_stale_by"
    )
    state = models.CharField(max_length=10, choices=State, default=State.OPEN)
    opened_on = models.DateField()
    closed_on = models.DateField(null=True, blank=True)
    closed_by = models.ForeignKey(
        Verification, models.PROTECT, null=True, blank=True, related_name="closes"
    )
    version = models.PositiveIntegerField(default=1)

    objects = ReverificationQuerySet.as_manager()

    class Meta:
        ordering = ("-opened_on", "-id")
        constraints = (
            models.UniqueConstraint(
                fields=["vehicle"], condition=Q(state="open"), name="one_open_reverification"
            ),
        )

    def __str__(self) -> str:
        return f"prove {self.vehicle} again: {self.get_cause_display()}"


class Check(models.Model):
    """A named look at a part: what rules ask for and inspections answer."""

    slug = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=100)
    asks = models.TextField("what to look at and measure", blank=True)
    # Names of values without which a look by this check came to no result.
    wants = models.JSONField("values that must be given", default=list, blank=True)

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name


class InspectionQuerySet(models.QuerySet["Inspection"]):
    def standing_trouble(self) -> "InspectionQuerySet":
        """The bad looks that no later look at the same part, by the same check, has overtaken.

        A look at no part is one at the vehicle as a whole.
        """
        later = Q(done_on__gt=OuterRef("done_on")) | Q(
            done_on=OuterRef("done_on"), id__gt=OuterRef("id")
        )
        tested = Inspection.objects.filter(later, check_done=OuterRef("check_done")).exclude(
            result=Inspection.Result.NOT_TESTED
        )
        of_part = Exists(tested.filter(component=OuterRef("component")))
        of_vehicle = Exists(tested.filter(component=None, vehicle=OuterRef("vehicle")))
        overtaken = of_part | (Q(component=None) & of_vehicle)
        return self.filter(result__in=Inspection.BAD).exclude(overtaken).order_by("done_on", "id")


class Inspection(models.Model):
    """One look at one fitted part, with its outcome.

    A good one satisfies a rule, a bad one makes the part due at once, and one that tested nothing
    does neither.
    """

    class Result(models.TextChoices):
        PASSED = "passed", "passed"
        ADVICE = "advice", "passed with advice"
        STIFF = "stiff", "worked only with a tool"
        WEAK = "weak", "weak"
        NOTHING = "nothing", "did nothing"
        FAILED = "failed", "failed"
        NOT_TESTED = "not_tested", "not tested"

    GOOD = (Result.PASSED, Result.ADVICE)
    BAD = (Result.STIFF, Result.WEAK, Result.NOTHING, Result.FAILED)

    vehicle = models.ForeignKey(Vehicle, models.PROTECT, related_name="inspections")
    fitting = models.ForeignKey(
        Fitting, models.PROTECT, null=True, blank=True, related_name="inspections"
    )
    component = models.ForeignKey(
        Component, models.PROTECT, null=True, blank=True, related_name="inspections"
    )
    check_done = models.ForeignKey(Check, models.PROTECT, related_name="inspections")
    done_on = models.DateField()
    result = models.CharField(max_length=12, choices=Result)
    values = models.JSONField(default=dict, blank=True)
    by = models.CharField(max_length=150)
    elsewhere = models.BooleanField("done elsewhere", default=False)
    note = models.TextField(blank=True)
    created_at = models.DateTimeField(db_default=Now(), editable=False)

    objects = InspectionQuerySet.as_manager()

    class Meta:
        ordering = ("-done_on", "-id")
        indexes = (
            models.Index(fields=["component", "check_done", "-done_on"], name="looks_by_component"),
        )

    def __str__(self) -> str:
        return f"{self.check_done} on {self.done_on}: {self.get_result_display()}"

    @property
    def is_good(self) -> bool:
        return self.result in self.GOOD

    @property
    def is_bad(self) -> bool:
        return self.result in self.BAD


class Standing(models.Model):
    """Where a towed vehicle stands today: the last judgement, kept for lists and the front page.

    It is a copy made by `installs.services.proof.rejudge`; the judgement itself is never read from
    here to decide whether something may be signed. `numbers` keeps the findings of the numbers
    under a key of what they hang on; `limits` is the newest version of any limit it went by.
    """

    class Proof(models.TextChoices):
        GOOD = "good", "proven"
        STALE = "stale", "stale"
        NEVER = "never", "never proven"
        NOTHING_FITTED = "nothing_fitted", "nothing fitted"
        NOT_TOWED = "not_towed", "not to be towed"

    vehicle = models.OneToOneField(Vehicle, models.CASCADE, related_name="standing")
    proof = models.CharField(max_length=15, choices=Proof)
    fingerprint = models.CharField(max_length=64, blank=True)
    blocking = models.PositiveSmallIntegerField(default=0)
    unknown = models.PositiveSmallIntegerField(default=0)
    risk = models.PositiveSmallIntegerField(default=0)
    headline = models.CharField(max_length=200, blank=True)
    # What blocks, in the words of the owner of the vehicle: mails lead with it.
    told = models.JSONField(default=list, blank=True)
    judged_on = models.DateField()
    numbers = models.JSONField(default=dict, blank=True)
    limits = models.PositiveBigIntegerField(default=0, db_index=True)

    class Meta:
        indexes = (models.Index(fields=["-risk", "vehicle"], name="standing_by_risk"),)

    def __str__(self) -> str:
        return f"{self.vehicle}: {self.get_proof_display()}"
