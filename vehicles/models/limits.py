"""The owner's limits and tables: every version of each, with where it comes from."""

import logging
from collections.abc import Iterable
from typing import Any

from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from vehicles.domain.inputs import InputError
from vehicles.domain.limit_set import START, Changed, Limits, checked, in_force

log = logging.getLogger(__name__)


class LimitVersionQuerySet(models.QuerySet["LimitVersion"]):
    def current(self) -> "LimitVersionQuerySet":
        return self.filter(is_current=True)

    def newest(self, codes: Iterable[str]) -> int:
        """The id of the newest version of any of these limits, 0 where none was ever set."""
        ids = self.filter(code__in=codes).order_by("-pk").values_list("pk", flat=True)
        return ids.first() or 0

    def in_force(self) -> Limits:
        """What the shop set, else the starting values; one query.

        A stored value that can no longer be (a later edition asks more of it) is left out and
        logged: the starting value counts, and the office's page shows it as such.
        """
        changed = {}
        for row in self.current().only("code", "content", "source", "edition", "from_memory"):
            try:
                checked(row.code, row.content)
            except (InputError, KeyError) as fault:
                log.warning("The stored limit %s is not used: %s", row.code, fault)
                continue
            changed[row.code] = row.as_changed
        return in_force(changed) if changed else START


class LimitVersion(models.Model):
    """One version of a limit or table; immutable but for `is_current`, which moves on.

    `content` has the form of `Setting.content()`. `typed` keeps, per field, what was entered.
    Where a code has no version its starting value counts.
    """

    code = models.CharField(max_length=60)
    number = models.PositiveIntegerField()
    is_current = models.BooleanField(default=True)
    content = models.JSONField()
    typed = models.JSONField(default=dict, blank=True)
    source = models.CharField("where it is from", max_length=200)
    edition = models.CharField("edition and page", max_length=100, blank=True)
    from_memory = models.BooleanField("from memory", default=False)
    recheck_on = models.DateField("look at it again on", null=True, blank=True)
    why = models.CharField("why it was changed", max_length=200)
    written_at = models.DateTimeField(db_default=Now(), editable=False)
    written_by = models.CharField(max_length=150)

    objects = LimitVersionQuerySet.as_manager()

    class Meta:
        ordering = ("code", "-number")
        constraints = (
            models.UniqueConstraint(fields=["code", "number"], name="limit_number_once"),
            models.UniqueConstraint(
                fields=["code"], condition=Q(is_current=True), name="limit_current_once"
            ),
        )

    def __str__(self) -> str:
        words = START[self.code].words if self.code in START else self.code
        return f"{words}, version {self.number}"

    @property
    def version(self) -> int:
        """What a form holds so that of two people at once the slower one is refused."""
        return self.number

    @property
    def as_changed(self) -> Changed:
        """The version as the pure set of limits takes it."""
        return Changed(self.content, self.source, self.edition, self.from_memory)

    @property
    def words_of_value(self) -> str:
        """The value as one text."""
        held: dict[str, Any] = self.content
        return checked(self.code, held).words_of_value if self.code in START else str(held)
