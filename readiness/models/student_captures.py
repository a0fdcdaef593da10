"""Captures that students send in the help by symptom: looked at, never counted for a kit."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from readiness.states import CaptureStatus
from rentals.models import GuideVisit
from rentals.models.leases import Leased
from rentals.noted import NotedManager


def stored_name(capture: StudentCapture, _filename: str) -> str:
    """What the name begins with under which the bytes are kept: visit and digest, never a name from
    outside.
    """
    return f"student-captures/{capture.visit_id}/{capture.sha256}"


class StudentCapture(Leased):
    """One file that a student sent, and what was made of it.

    It is apart from the captures of the bench on purpose: no round, score, limit or clearance of a
    kit can see it.
    """

    visit = models.ForeignKey(GuideVisit, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=255, help_text="As the file was called when it came.")
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    file = models.FileField(upload_to=stored_name, max_length=120)
    at = models.DateTimeField()
    status = models.CharField(
        max_length=10, choices=CaptureStatus.choices, default=CaptureStatus.WAITING
    )
    refusal = models.CharField(max_length=600, blank=True, help_text="In the bench's words.")
    missing = models.CharField(max_length=10, blank=True)
    result = models.JSONField(default=dict, help_text="As a verdict of the bench holds it.")
    method_version = models.CharField(max_length=20, blank=True)

    objects = NotedManager()

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "sha256"], name="student_capture_once_per_visit"
            ),
            models.CheckConstraint(condition=Q(size__gt=0), name="student_capture_is_not_empty"),
            models.CheckConstraint(
                condition=~Q(status=CaptureStatus.SCORING) | Q(claimed_at__isnull=False),
                name="student_capture_scoring_is_claimed",
            ),
        ]
        indexes = [models.Index(fields=["status", "claimed_at"])]

    def __str__(self) -> str:
        return self.name

    @property
    def settled(self) -> bool:
        """Whether nothing is going on with it in the background."""
        return self.status not in (CaptureStatus.WAITING, CaptureStatus.SCORING)
