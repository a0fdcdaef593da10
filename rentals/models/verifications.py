"""When the history was last held against its log, and whether it was in order."""

from __future__ import annotations

from typing import ClassVar

from django.db import models


class Verification(models.Model):
    """One run of `verify`, over the desk itself or over a backup that was put back."""

    at = models.DateTimeField()
    faults = models.PositiveIntegerField(help_text="What did not fit; 0 where all was in order.")
    of_backup = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar = ["-at"]
        indexes: ClassVar = [models.Index(fields=["-at"])]

    def __str__(self) -> str:
        return f"verified {self.at:%Y-%m-%d %H:%M}: {self.faults}"
