"""How long the post takes."""

from __future__ import annotations

from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import Q
from django.db.models.functions import Length
from django.db.models.lookups import Exact

MOST_DAYS_IN_POST = 90


class TransitTime(models.Model):
    """Working days that the post takes to a place and back. The place is a country by its code (ISO
    3166-1 alpha-2), or ``home`` or ``abroad`` for all countries without a row of their own.
    """

    destination = models.CharField(max_length=6, unique=True)
    days_out = models.PositiveSmallIntegerField(
        validators=[MaxValueValidator(MOST_DAYS_IN_POST)], help_text="Working days there."
    )
    days_back = models.PositiveSmallIntegerField(
        validators=[MaxValueValidator(MOST_DAYS_IN_POST)], help_text="Working days back."
    )

    class Meta:
        ordering = ["destination"]
        constraints = [
            # Not by a pattern: a backup's check reads the file without Django's functions.
            models.CheckConstraint(
                condition=Q(destination__in=["home", "abroad"])
                | Q(Exact(Length("destination"), 2)),
                name="transit_place_is_a_country",
                violation_error_message="The place must be a country.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.destination}: {self.days_out} out, {self.days_back} back"
