"""What the owner found out about customs, destination by destination."""

from __future__ import annotations

from django.conf import settings
from django.db import models


class CustomsAnswer(models.Model):
    """Whether parcels from one place to another need a customs paper, as the owner says: it goes
    before the table. The places are keys of that table, or country codes in small letters.
    """

    home = models.CharField(max_length=40)
    destination = models.CharField(max_length=40)
    needed = models.BooleanField()
    note = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["destination", "home"]
        constraints = [
            models.UniqueConstraint(
                fields=["home", "destination"],
                name="customs_answer_once",
                violation_error_message="There is an answer for this destination already.",
            )
        ]

    def __str__(self) -> str:
        needed = "needed" if self.needed else "not needed"
        return f"{self.home} to {self.destination}: paper {needed}"
