"""A guided round: the tests of the plan led through with one kit at hand."""

from __future__ import annotations

from datetime import timedelta

from django.conf import settings
from django.db import models
from django.db.models import Q

from rentals.models import Kit

OPEN_FOR = timedelta(hours=3)
"""A round that nobody ends is over by then: files of another day are not proposed to it."""


class GuidedRound(models.Model):
    """From its begin until its files are confirmed, files that name no kit are proposed to it."""

    kit = models.ForeignKey(Kit, on_delete=models.CASCADE, related_name="guided_rounds")
    begun_at = models.DateTimeField()
    begun_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-begun_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["kit"], condition=Q(ended_at=None), name="kit_has_one_open_guided_round"
            ),
            models.CheckConstraint(
                condition=Q(ended_at=None) | Q(ended_at__gte=models.F("begun_at")),
                name="guided_round_ends_after_its_begin",
            ),
        ]

    def __str__(self) -> str:
        return f"Guided round of {self.kit}"
