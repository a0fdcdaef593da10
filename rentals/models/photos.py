"""Photos of what came back damaged, or of how it came back."""

from __future__ import annotations

from django.db import models

from rentals.noted import NotedManager

from .loans import PackingLine


class LinePhoto(models.Model):
    """One photo of one line of a parcel. The same picture sent again is the same photo."""

    packing_line = models.ForeignKey(PackingLine, on_delete=models.CASCADE, related_name="photos")
    file = models.FileField(upload_to="damage/")
    digest = models.CharField(max_length=64, help_text="SHA-256 of the file.")
    at = models.DateTimeField()

    objects = NotedManager()

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["packing_line", "digest"], name="photo_once_for_its_line"
            )
        ]

    def __str__(self) -> str:
        return f"Photo of {self.packing_line.name}"
