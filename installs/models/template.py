"""Step templates of the bay, in immutable numbered revisions."""

from django.db import models
from django.db.models import Q
from django.db.models.functions import Now


class StepTemplate(models.Model):
    """A named template; its steps are those of its current revision."""

    slug = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=80)

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name


class StepTemplateRevision(models.Model):
    """What a template asks from a day on. `content` has the form of `Template.from_dict`.

    A job keeps the revision it was opened with, so nothing here is ever changed; only `is_current`
    moves on.
    """

    template = models.ForeignKey(StepTemplate, models.PROTECT, related_name="revisions")
    number = models.PositiveIntegerField()
    is_current = models.BooleanField(default=True)
    content = models.JSONField()
    note = models.TextField(blank=True)
    written_at = models.DateTimeField(db_default=Now(), editable=False)
    written_by = models.CharField(max_length=150)

    class Meta:
        ordering = ("-number",)
        constraints = (
            models.UniqueConstraint(fields=["template", "number"], name="template_number"),
            models.UniqueConstraint(
                fields=["template"], condition=Q(is_current=True), name="template_current"
            ),
        )

    def __str__(self) -> str:
        return f"{self.template}, revision {self.number}"
