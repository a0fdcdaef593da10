"""Kits set aside for students of later runs."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from .kits import Kit
from .runs import Enrolment


class Earmark(models.Model):
    """A kit set aside for an enrolment, while it is still away or with somebody else. Once it may
    be assigned, it is what the assignment page proposes; a pinned one stays when plans are made
    again.
    """

    kit = models.ForeignKey(Kit, on_delete=models.PROTECT, related_name="earmarks")
    enrolment = models.ForeignKey(Enrolment, on_delete=models.CASCADE, related_name="earmarks")
    pinned = models.BooleanField(default=False)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    at = models.DateTimeField()

    class Meta:
        ordering = ["enrolment__run__post_by", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["enrolment"], name="one_kit_set_aside_for_a_student")
        ]

    def __str__(self) -> str:
        return f"{self.kit.code} set aside for {self.enrolment.student.name}"
