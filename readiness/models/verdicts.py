"""Verdicts: what one scoring of a capture said, with the limits and the method it was judged by."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from readiness.marks import verdict_mark
from readiness.states import VerdictWord
from rentals.marks import Mark
from rentals.noted import NotedManager

from .captures import Capture


def _score_in_range(field: str) -> models.CheckConstraint:
    within = Q(**{f"{field}__gte": 0, f"{field}__lte": 100})
    return models.CheckConstraint(
        condition=Q(**{f"{field}__isnull": True}) | within, name=f"verdict_{field}_from_0_to_100"
    )


class Verdict(models.Model):
    """One scoring. The current one counts; older ones stay for the record."""

    capture = models.ForeignKey(Capture, on_delete=models.CASCADE, related_name="verdicts")
    current = models.BooleanField(default=True)
    at = models.DateTimeField()
    why = models.CharField(max_length=200, default="first scoring")
    method_version = models.CharField(max_length=20)
    limits = models.JSONField(default=dict)
    verdict = models.CharField(max_length=7, choices=VerdictWord.choices)
    continuity = models.FloatField(null=True, blank=True)
    noise = models.FloatField(null=True, blank=True)
    battery = models.FloatField(null=True, blank=True)
    noise_uv = models.FloatField(
        null=True, blank=True, help_text="Noise floor, microvolts RMS, judged band."
    )
    battery_v = models.FloatField(null=True, blank=True, help_text="End voltage under load, volts.")
    result = models.JSONField(
        default=dict, help_text="The whole result as `score --json` gives it."
    )

    objects = NotedManager()

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["capture"],
                condition=Q(current=True),
                name="capture_has_one_current_verdict",
            ),
            models.CheckConstraint(
                condition=Q(verdict__in=VerdictWord.values),
                name="verdict_is_one_of_three",
            ),
            _score_in_range("continuity"),
            _score_in_range("noise"),
            _score_in_range("battery"),
        ]
        indexes = [
            models.Index(
                fields=["capture"],
                condition=Q(current=True, verdict=VerdictWord.FIT, noise_uv__isnull=False),
                name="verdict_fit_with_its_noise",
            )
        ]

    def __str__(self) -> str:
        return f"{self.capture}: {self.verdict}"

    @property
    def mark(self) -> Mark:
        """How it is shown."""
        return verdict_mark(self.verdict)
