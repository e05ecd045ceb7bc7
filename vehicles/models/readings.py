"""Corrections of readings: what was read stays as it was, and what it counts as is put right."""

from django.db import models
from django.db.models.functions import Now

from .vehicle import Reading


class ReadingCorrection(models.Model):
    """What is to be added to a reading so that distances go on growing. Rows are only ever added.

    After a new instrument the `offset` (in the unit of the reading, may be negative) counts for
    this reading and every later one of its sort; after a slip of the pen for this one alone.
    `typed` is what the person entered.
    """

    class Sort(models.TextChoices):
        REPLACED = "replaced", "instrument replaced"
        MISREAD = "misread", "read or written down wrongly"

    reading = models.ForeignKey(Reading, models.PROTECT, related_name="corrections")
    sort = models.CharField(max_length=10, choices=Sort)
    offset = models.DecimalField(max_digits=12, decimal_places=3)
    typed = models.CharField(max_length=40)
    why = models.CharField(max_length=200)
    by = models.CharField(max_length=150)
    at = models.DateTimeField(db_default=Now(), editable=False)

    class Meta:
        ordering = ("id",)

    def __str__(self) -> str:
        return f"{self.get_sort_display()}: {self.reading}"
