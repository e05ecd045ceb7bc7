"""The outbox: every e-mail that leaves, as it was rendered, and what became of it."""

from django.db import models
from django.db.models import Q
from django.db.models.functions import Now


class OutgoingMailQuerySet(models.QuerySet["OutgoingMail"]):
    def visible_to(self, user: object) -> "OutgoingMailQuerySet":
        """Every mail for those who keep records; none for anyone else."""
        return self.all() if getattr(user, "may_keep_records", False) else self.none()

    def waiting(self, now: object) -> "OutgoingMailQuerySet":
        return self.filter(state=OutgoingMail.State.QUEUED, not_before__lte=now)

    def needing_a_person(self) -> "OutgoingMailQuerySet":
        return self.filter(
            state__in=(OutgoingMail.State.FAILED, OutgoingMail.State.UNSURE), settled_at=None
        )


class OutgoingMail(models.Model):
    """One message. `key` says what it is for, so the same thing cannot be queued twice."""

    class State(models.TextChoices):
        QUEUED = "queued", "waiting"
        CLAIMED = "claimed", "being sent"
        SENT = "sent", "sent"
        WITHHELD = "withheld", "not sent"
        FAILED = "failed", "failed"
        UNSURE = "unsure", "may have gone out"

    class AfterCrash(models.TextChoices):
        REPEAT_ONCE = "repeat_once", "send once more"
        NEVER_REPEAT = "never_repeat", "leave it to a person"

    key = models.CharField(max_length=120, unique=True)
    kind = models.CharField(max_length=30)
    category = models.CharField(max_length=10, blank=True)
    customer = models.ForeignKey(
        "people.Customer", models.SET_NULL, null=True, blank=True, related_name="mails"
    )
    to_address = models.CharField(max_length=254)
    to_name = models.CharField(max_length=150, blank=True)
    subject = models.CharField(max_length=300)
    text = models.TextField()
    html = models.TextField(blank=True)
    headers = models.JSONField(default=dict)
    message_id = models.CharField(max_length=200, unique=True)
    after_crash = models.CharField(
        max_length=15, choices=AfterCrash, default=AfterCrash.REPEAT_ONCE
    )

    state = models.CharField(max_length=10, choices=State, default=State.QUEUED)
    not_before = models.DateTimeField()
    send_before = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    crashes = models.PositiveSmallIntegerField(default=0)
    claimed_at = models.DateTimeField(null=True, blank=True)
    claim_token = models.CharField(max_length=40, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    last_error = models.TextField(blank=True)
    withheld_why = models.CharField(max_length=200, blank=True)
    settled_at = models.DateTimeField(null=True, blank=True)
    queued_at = models.DateTimeField(db_default=Now(), editable=False)

    objects = OutgoingMailQuerySet.as_manager()

    class Meta:
        ordering = ("-id",)
        indexes = (
            models.Index(fields=["not_before"], condition=Q(state="queued"), name="mail_waiting"),
            models.Index(
                fields=["claimed_at"], condition=Q(state="claimed"), name="mail_being_sent"
            ),
            models.Index(
                fields=["state"],
                condition=Q(state__in=["failed", "unsure"]),
                name="mail_for_a_person",
            ),
            models.Index(fields=["customer", "-id"], name="mail_by_customer"),
        )

    def __str__(self) -> str:
        return f"{self.subject} to {self.to_address}"


class Suppression(models.Model):
    """An address that asked for silence in a category; it holds for whoever uses the address."""

    address = models.CharField(max_length=254)
    category = models.CharField(max_length=10)
    why = models.CharField(max_length=200)
    since = models.DateTimeField(db_default=Now())

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["address", "category"], name="one_suppression"),
        )

    def __str__(self) -> str:
        return f"{self.address}: no {self.category}"
