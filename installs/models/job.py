"""Jobs in the bay: what is to be done, the sheet of steps, the answers, the frozen record."""

from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from installs.domain.bay.progress import STATE_WORDS, StepState
from installs.domain.bay.status import OVER, STATUS_WORDS, Status
from vehicles.models import Vehicle

from .component import Component, ComponentKind, Fitting
from .proof import Check, Verification
from .template import StepTemplateRevision

_IN_WORK = (Status.IN_HAND, Status.WAITING_ON, Status.TO_BE_PROVEN, Status.TO_BE_HANDED_OVER)


class JobQuerySet(models.QuerySet["Job"]):
    def visible_to(self, user: object) -> "JobQuerySet":
        """Every job for staff; none for anyone else."""
        return self.all() if getattr(user, "is_shop_staff", False) else self.none()

    def not_over(self) -> "JobQuerySet":
        return self.exclude(status__in=OVER)


class Job(models.Model):
    """One visit's work on one towed vehicle, with the coach it is towed behind where known.

    `composed_of` is the digest of what its sheet was last composed of.
    """

    vehicle = models.ForeignKey(Vehicle, models.PROTECT, related_name="jobs")
    coach = models.ForeignKey(
        Vehicle, models.PROTECT, null=True, blank=True, related_name="jobs_as_coach"
    )
    template = models.ForeignKey(StepTemplateRevision, models.PROTECT, related_name="jobs")
    title = models.CharField("what is to be done", max_length=120)
    note = models.TextField("what the customer said", blank=True)
    status = models.CharField(
        max_length=20, choices=[(s.value, STATUS_WORDS[s]) for s in Status], default=Status.READY
    )
    waits_for = models.CharField("waits on", max_length=300, blank=True)
    proves = models.BooleanField("ends in a signed proof", default=True)
    opened_on = models.DateField()
    opened_by = models.CharField(max_length=150)
    closed_at = models.DateTimeField(null=True, blank=True)
    composed_of = models.CharField(max_length=64, blank=True, editable=False)
    version = models.PositiveIntegerField(default=1)

    objects = JobQuerySet.as_manager()

    class Meta:
        ordering = ("-opened_on", "-id")
        indexes = (models.Index(fields=["status", "-opened_on"], name="job_by_status"),)
        constraints = (
            models.UniqueConstraint(
                fields=["vehicle"],
                condition=Q(status__in=[s.value for s in _IN_WORK]),
                name="one_job_in_hand_per_vehicle",
            ),
        )

    def __str__(self) -> str:
        return f"job {self.pk}: {self.title}"

    @property
    def is_over(self) -> bool:
        """Closed or called off: nothing can be answered any more."""
        return self.status in OVER


class JobWork(models.Model):
    """One piece of work: fit, move, inspect or remove one part.

    `component` is the part where it is known beforehand, `fitting` what came of it.
    """

    class Does(models.TextChoices):
        FIT = "fit", "fit"
        MOVE = "move", "move"
        INSPECT = "inspect", "inspect"
        REMOVE = "remove", "remove"

    job = models.ForeignKey(Job, models.PROTECT, related_name="works")
    does = models.CharField(max_length=10, choices=Does)
    kind = models.ForeignKey(ComponentKind, models.PROTECT)
    component = models.ForeignKey(Component, models.PROTECT, null=True, blank=True)
    fitting = models.ForeignKey(Fitting, models.PROTECT, null=True, blank=True)
    check_done = models.ForeignKey(Check, models.PROTECT, null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("id",)

    def __str__(self) -> str:
        return f"{self.get_does_display()} {self.component or self.kind}"


class JobPerson(models.Model):
    """Somebody who will hook up, by name: each is shown and then does it alone."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="people")
    name = models.CharField(max_length=120)

    class Meta:
        ordering = ("id",)
        constraints = (
            models.UniqueConstraint(fields=["job", "name"], name="one_line_per_person_of_job"),
        )

    def __str__(self) -> str:
        return self.name


class JobTime(models.Model):
    """A technician on a job from a moment to a moment. People are kept by number and name."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="times")
    user_id = models.BigIntegerField()
    name = models.CharField(max_length=150)
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("began_at", "id")
        constraints = (
            models.UniqueConstraint(
                fields=["user_id"],
                condition=Q(ended_at__isnull=True),
                name="one_clock_runs_per_person",
            ),
            models.CheckConstraint(
                condition=Q(ended_at__isnull=True) | Q(ended_at__gte=models.F("began_at")),
                name="job_time_in_order",
            ),
        )

    def __str__(self) -> str:
        return f"{self.name} on {self.job}"


class JobStep(models.Model):
    """One step of a job's sheet, with how it stands. `doc` is what was composed (see domain).

    The database refuses to settle a step past a hold point (see the migration). `retired` steps
    are no longer on the sheet; their answers stay.
    """

    job = models.ForeignKey(Job, models.PROTECT, related_name="steps")
    key = models.CharField(max_length=120)
    position = models.PositiveIntegerField()
    stage = models.CharField(max_length=10)
    kind = models.CharField(max_length=15)
    hold = models.BooleanField()
    doc = models.JSONField()
    retired = models.BooleanField(default=False)
    state = models.CharField(
        max_length=15,
        choices=[(s.value, STATE_WORDS[s]) for s in StepState],
        default=StepState.OPEN,
    )
    answers_count = models.PositiveIntegerField(default=0)
    # The basis of the vehicle when it was answered: what was proven of another one is void.
    fingerprint = models.CharField(max_length=64, blank=True)

    class Meta:
        ordering = ("position", "id")
        constraints = (models.UniqueConstraint(fields=["job", "key"], name="one_step_per_key"),)
        indexes = (models.Index(fields=["job", "retired", "position"], name="sheet_of_job"),)

    def __str__(self) -> str:
        return str(self.doc["words"])


class StepAnswer(models.Model):
    """One answer to one step, written once. The latest counts; all of them stay.

    `at` is when it was given, by the clock of the device; `received_at` when it arrived.
    """

    step = models.ForeignKey(JobStep, models.PROTECT, related_name="answers")
    number = models.PositiveIntegerField()
    state = models.CharField(max_length=15)
    value = models.JSONField()
    sentence = models.TextField(blank=True)
    by = models.CharField(max_length=150)
    by_id = models.BigIntegerField(null=True)
    at = models.DateTimeField()
    received_at = models.DateTimeField(db_default=Now(), editable=False)
    client_id = models.UUIDField(unique=True)
    device = models.CharField(max_length=40, blank=True)

    class Meta:
        ordering = ("step", "number")
        constraints = (models.UniqueConstraint(fields=["step", "number"], name="answers_numbered"),)

    def __str__(self) -> str:
        return f"{self.step}: {self.state}"


class Arrival(models.Model):
    """Something a tablet sent: kept as it came, applied in the device's own order.

    `outcome` is empty while it waits for an earlier number. What is refused stays here with the
    sentences that say why, so that nothing typed is ever lost.
    """

    class Outcome(models.TextChoices):
        WAITING = "", "waiting"
        TAKEN = "taken", "taken"
        REFUSED = "refused", "refused"

    job = models.ForeignKey(Job, models.PROTECT, related_name="arrivals")
    device = models.CharField(max_length=40)
    seq = models.PositiveIntegerField()
    client_id = models.UUIDField(unique=True)
    payload = models.JSONField()
    by = models.CharField(max_length=150)
    by_id = models.BigIntegerField(null=True)
    received_at = models.DateTimeField(db_default=Now(), editable=False)
    outcome = models.CharField(max_length=10, choices=Outcome, default=Outcome.WAITING, blank=True)
    told = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ("device", "seq")
        constraints = (
            models.UniqueConstraint(
                fields=["job", "device", "seq"], name="one_arrival_per_device_and_number"
            ),
        )

    def __str__(self) -> str:
        return f"{self.device} {self.seq}"


class JobRecord(models.Model):
    """The frozen record of a closed job. The database refuses to change or delete it."""

    job = models.OneToOneField(Job, models.PROTECT, related_name="record")
    content = models.JSONField()
    sha256 = models.CharField(max_length=64)
    verification = models.OneToOneField(
        Verification, models.PROTECT, null=True, blank=True, related_name="record"
    )
    frozen_at = models.DateTimeField()
    frozen_by = models.CharField(max_length=150)

    class Meta:
        ordering = ("-id",)

    def __str__(self) -> str:
        return f"record of {self.job}"


class Addendum(models.Model):
    """A correction of a frozen record: added with its reason, chained to what stood before."""

    record = models.ForeignKey(JobRecord, models.PROTECT, related_name="addenda")
    number = models.PositiveIntegerField()
    text = models.TextField()
    reason = models.TextField()
    by = models.CharField(max_length=150)
    by_id = models.BigIntegerField(null=True)
    at = models.DateTimeField()
    sha256 = models.CharField(max_length=64)

    class Meta:
        ordering = ("record", "number")
        constraints = (
            models.UniqueConstraint(fields=["record", "number"], name="addenda_numbered"),
        )

    def __str__(self) -> str:
        return f"addendum {self.number} to {self.record}"
