"""Rosters under way: a file that was read and waits in the preview until it is clean."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from rentals.addresses import page_address


class RosterDraft(models.Model):
    """One uploaded roster: its rows, how its columns are read, what was corrected, left out or kept
    since.

    `content` holds rows (number, cells, troubles by column), heads, head_row, fields, notes, fixes,
    left_out and keep.
    """

    run = models.ForeignKey(
        "rentals.CourseRun", on_delete=models.CASCADE, related_name="roster_drafts"
    )
    file_name = models.CharField(max_length=200)
    content = models.JSONField()
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    imported_at = models.DateTimeField(null=True, blank=True)
    result = models.CharField(
        max_length=300, blank=True, help_text="What the import did, in words."
    )

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.file_name} for {self.run.name}"

    def get_absolute_url(self) -> str:
        return page_address("rentals:roster", self.run_id, self.pk)
