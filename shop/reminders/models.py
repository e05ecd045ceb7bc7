"""Rules, what falls due from them, and the ledger of what was said to whom."""

from datetime import date

from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from installs.models import Check, ComponentKind, Fitting, Reverification
from shop.people.models import Category, Customer
from shop.reminders.domain.plan import FAILED, NOT_TOWED
from vehicles.models import Vehicle

NOT_TOWED_TITLE = "Must not be towed on its wheels"


class ServiceRule(models.Model):
    """When a look is due, and how often to say so. The owner edits it; each version is kept."""

    class Trigger(models.TextChoices):
        MONTHS = "months", "every so many months"
        DATE_CODE = "date_code", "so many years after the date code"
        EVENT = "event", "when something changed"
        DISTANCE = "distance", "every so many miles towed"

    class Count(models.TextChoices):
        FROM_DONE = "from_done", "from the day it was done"
        FIXED = "fixed", "on the same day every time"

    name = models.CharField(max_length=100, unique=True)
    kind = models.ForeignKey(ComponentKind, models.PROTECT, null=True, blank=True)
    check_asked = models.ForeignKey(Check, models.PROTECT, null=True, blank=True)
    trigger = models.CharField(max_length=10, choices=Trigger)
    months = models.PositiveSmallIntegerField(null=True, blank=True)
    years = models.PositiveSmallIntegerField(null=True, blank=True)
    distance_km = models.DecimalField(max_digits=9, decimal_places=1, null=True, blank=True)
    count_from = models.CharField(max_length=10, choices=Count, default=Count.FROM_DONE)
    lead_days = models.PositiveSmallIntegerField(default=30)
    repeat_days = models.PositiveSmallIntegerField(default=21)
    mails_max = models.PositiveSmallIntegerField(default=4)
    category = models.CharField(max_length=10, choices=Category, default=Category.SERVICE)
    risk = models.PositiveSmallIntegerField(
        default=2, choices=((1, "low"), (2, "middling"), (3, "high"))
    )
    what = models.CharField("what is due, as the customer reads it", max_length=150)
    why = models.TextField("why it matters")
    todo = models.TextField("what to do")
    basis = models.CharField("where the interval comes from", max_length=200, blank=True)
    active = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ("name",)
        constraints = (
            models.CheckConstraint(
                condition=~Q(trigger="months") | Q(months__gte=1), name="months_rule_has_months"
            ),
            models.CheckConstraint(
                condition=~Q(trigger="date_code") | Q(years__gte=1), name="date_code_rule_has_years"
            ),
            models.CheckConstraint(
                condition=~Q(trigger__in=["months", "date_code"]) | Q(kind__isnull=False),
                name="dated_rule_has_a_kind",
            ),
        )

    def __str__(self) -> str:
        return self.name


class ServiceRuleVersion(models.Model):
    """A rule as it stood; due items name the version they were worked out from."""

    rule = models.ForeignKey(ServiceRule, models.CASCADE, related_name="versions")
    version = models.PositiveIntegerField()
    sentence = models.TextField()
    content = models.JSONField()
    written_at = models.DateTimeField(db_default=Now(), editable=False)
    written_by = models.CharField(max_length=150)

    class Meta:
        ordering = ("-version",)
        constraints = (
            models.UniqueConstraint(fields=["rule", "version"], name="one_row_per_rule_version"),
        )

    def __str__(self) -> str:
        return f"{self.rule} v{self.version}"


class DueItemQuerySet(models.QuerySet["DueItem"]):
    def visible_to(self, user: object) -> "DueItemQuerySet":
        """Every item for staff; none for anyone else."""
        return self.all() if getattr(user, "is_shop_staff", False) else self.none()

    def open(self) -> "DueItemQuerySet":
        """Items that still stand. Told by the closing day, because an index holds just these."""
        return self.filter(closed_on=None)

    def overdue(self, today: date) -> "DueItemQuerySet":
        """Open items past their day; what a bad look made due at once from that very day."""
        passed = Q(due_on__lt=today) | Q(due_on=today, anchor_key__startswith=FAILED)
        return self.to_do().filter(passed, due_on__lte=today)

    def to_do(self) -> "DueItemQuerySet":
        """Open items that somebody can do; what only has to be said to an owner is none."""
        return self.open().exclude(anchor_key__startswith=NOT_TOWED)

    def to_be_said(self, today: date) -> "DueItemQuerySet":
        """Items whose day of contact has come; also booked ones whose visit went by unused."""
        return self.filter(contact_on__lte=today)

    def silent(self) -> "DueItemQuerySet":
        """Open items about which no further message is planned; `silence` says why."""
        told = Q(anchor_key__startswith=NOT_TOWED, mails_sent__gt=models.F("mails_before"))
        return self.open().filter(contact_on=None).exclude(told)


class DueItem(models.Model):
    """One thing that falls due once, with its dates worked out and stored.

    It is keyed on what it counts from (`anchor_key`), never on the date: a corrected reading moves
    the date of the same row. `contact_on` is the next day on which something is to be said; it is
    empty when there is nothing more to say, and `silence` then tells why. On a booked item it is
    the day after the visit, when somebody has to notice that the visit did not take place.
    `mails_before` counts the messages that went to an earlier owner of the vehicle.
    """

    class State(models.TextChoices):
        OPEN = "open", "open"
        BOOKED = "booked", "booked"
        DONE = "done", "done"
        WITHDRAWN = "withdrawn", "fell away"

    OPEN = (State.OPEN, State.BOOKED)

    rule = models.ForeignKey(ServiceRule, models.PROTECT, related_name="items")
    rule_version = models.PositiveIntegerField()
    vehicle = models.ForeignKey(Vehicle, models.PROTECT, related_name="due_items")
    fitting = models.ForeignKey(
        Fitting, models.PROTECT, null=True, blank=True, related_name="due_items"
    )
    reverification = models.ForeignKey(
        Reverification, models.PROTECT, null=True, blank=True, related_name="due_items"
    )
    customer = models.ForeignKey(
        Customer, models.PROTECT, null=True, blank=True, related_name="due_items"
    )
    anchor_key = models.CharField(max_length=40)
    anchor_on = models.DateField()
    due_on = models.DateField()
    reason = models.CharField(max_length=300)
    risk = models.PositiveSmallIntegerField(default=2)
    category = models.CharField(max_length=10, choices=Category)

    state = models.CharField(max_length=10, choices=State, default=State.OPEN)
    contact_on = models.DateField(null=True, blank=True)
    mails_sent = models.PositiveSmallIntegerField(default=0)
    mails_before = models.PositiveSmallIntegerField(default=0)
    snoozed_until = models.DateField(null=True, blank=True)
    booked_for = models.DateField(null=True, blank=True)
    closed_on = models.DateField(null=True, blank=True)
    silence = models.CharField(max_length=200, blank=True)

    objects = DueItemQuerySet.as_manager()

    class Meta:
        ordering = ("due_on", "id")
        indexes = (
            # The conditions say "is (not) null" because SQLite cannot tell from a bound
            # parameter that `state IN (?, ?)` falls inside a partial index, and would scan all.
            models.Index(
                fields=["contact_on", "customer"],
                condition=Q(contact_on__isnull=False),
                name="due_to_be_said",
            ),
            models.Index(fields=["due_on"], condition=Q(closed_on__isnull=True), name="due_open"),
            models.Index(
                fields=["due_on"],
                condition=Q(closed_on__isnull=True, contact_on__isnull=True),
                name="due_silent",
            ),
            models.Index(fields=["vehicle", "state"], name="due_by_vehicle"),
            models.Index(fields=["customer", "state"], name="due_by_customer"),
        )
        constraints = (
            models.UniqueConstraint(
                fields=["rule", "fitting", "anchor_key"],
                condition=Q(fitting__isnull=False),
                name="one_item_per_fitting_rule_anchor",
            ),
            models.UniqueConstraint(
                fields=["rule", "vehicle", "anchor_key"],
                condition=Q(fitting__isnull=True),
                name="one_item_per_vehicle_rule_anchor",
            ),
            models.UniqueConstraint(
                fields=["rule", "fitting"],
                condition=Q(fitting__isnull=False, state__in=["open", "booked"]),
                name="one_open_item_per_fitting_rule",
            ),
            models.CheckConstraint(
                condition=Q(state__in=["open", "booked"], closed_on__isnull=True)
                | Q(
                    state__in=["done", "withdrawn"],
                    closed_on__isnull=False,
                    contact_on__isnull=True,
                ),
                name="closed_items_have_a_day_and_are_silent",
            ),
        )

    def __str__(self) -> str:
        return f"{self.title} for {self.vehicle}, due {self.due_on}"

    @property
    def at_once(self) -> bool:
        """Is it due because a look at the part turned out bad?"""
        return self.anchor_key.startswith(FAILED)

    @property
    def only_said(self) -> bool:
        """Is there nothing to be done, only the owner to be told not to tow the vehicle?"""
        return self.anchor_key.startswith(NOT_TOWED)

    @property
    def title(self) -> str:
        """What the desk calls it: its rule, unless the rule asks for what must not be done."""
        return NOT_TOWED_TITLE if self.only_said else str(self.rule)


class ReminderQuerySet(models.QuerySet["Reminder"]):
    def counted(self) -> "ReminderQuerySet":
        """Entries that count as said, as long as nobody knows that their message never went."""
        return self.filter(taken_back=False)


class Reminder(models.Model):
    """The ledger: the nth time that an item was mentioned, on which day, in which message.

    An entry whose message never went out, or went out without the item, is `taken_back`: it is
    kept to explain what happened and no longer counts, so that the turn can be written again.
    """

    item = models.ForeignKey(DueItem, models.CASCADE, related_name="reminders")
    nth = models.PositiveSmallIntegerField()
    on = models.DateField()
    mail = models.ForeignKey(
        "outbox.OutgoingMail", models.SET_NULL, null=True, blank=True, related_name="reminders"
    )
    taken_back = models.BooleanField(db_default=False)

    objects = ReminderQuerySet.as_manager()

    class Meta:
        ordering = ("-on", "-id")
        constraints = (
            models.UniqueConstraint(
                fields=["item", "nth"], condition=Q(taken_back=False), name="said_once_per_turn"
            ),
        )

    def __str__(self) -> str:
        return f"{self.item}, time {self.nth}"


class Heartbeat(models.Model):
    """When each recurring piece of work last ran, for the people who must notice when it stops."""

    name = models.CharField(max_length=40, primary_key=True)
    at = models.DateTimeField()
    said = models.CharField(max_length=200, blank=True)

    def __str__(self) -> str:
        return f"{self.name} at {self.at}"
