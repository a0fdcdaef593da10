"""Work that one worker at a time holds: the columns of its claim."""

from __future__ import annotations

from django.db import models


class Leased(models.Model):
    """A row that background workers claim, work on, and let go.

    `claimed_at` is when the claim was made, and at the same time its mark: a worker writes its
    outcome only while the row still bears the mark it was claimed with. `attempts` counts claims.
    """

    attempts = models.PositiveSmallIntegerField(default=0)
    claimed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        abstract = True
