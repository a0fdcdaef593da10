"""Check kits: kits that never leave the bench, tested first each bench day to judge the bench
itself.
"""

from __future__ import annotations

from django.db import models

from rentals.models import Kit


class CheckKit(models.Model):
    """Marks a kit as a check kit."""

    kit = models.OneToOneField(Kit, on_delete=models.CASCADE, related_name="check_kit")
    since = models.DateTimeField()

    class Meta:
        ordering = ["kit"]

    def __str__(self) -> str:
        return f"Check kit {self.kit}"
