"""The log over all that matters: one line for each state of a protected row, keyed and linked."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q


class LogLine(models.Model):
    """One state of one row. `mac` is keyed and covers the line and the `mac` before it, so nobody
    without the key can write a line anew.
    """

    position = models.PositiveBigIntegerField(primary_key=True, help_text="1, 2, 3, without gap.")
    table = models.CharField(max_length=40, help_text="A table, or what the line is of itself.")
    row = models.PositiveBigIntegerField(help_text="Its number; 0 for the table's own columns.")
    digest = models.CharField(
        max_length=64, blank=True, help_text="SHA-256 of its facts; empty once it is deleted."
    )
    mac = models.CharField(max_length=64)

    class Meta:
        ordering: ClassVar = ["position"]
        indexes: ClassVar = [models.Index(fields=["table", "row", "position"])]

    def __str__(self) -> str:
        return f"line {self.position}: {self.table} {self.row}"


class LogHead(models.Model):
    """Where the log ends: one row, which whoever appends holds until the transaction ends."""

    number = models.PositiveBigIntegerField(default=0)
    mac = models.CharField(max_length=64, blank=True)
    key_mark = models.CharField(
        max_length=16, blank=True, help_text="By which key the last line was written."
    )

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(pk=1), name="log_has_one_head"),
        ]

    def __str__(self) -> str:
        return f"{self.number}:{self.mac}"
