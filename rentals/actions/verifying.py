"""Noting when the history was held against its log, and what came of it."""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone

from rentals import transaction
from rentals.models import Verification


@transaction.atomic
def note_verified(faults: int, *, of_backup: bool = False, at: datetime | None = None) -> None:
    """Write down that the desk, or a backup of it, was verified."""
    Verification.objects.create(at=at or timezone.now(), faults=faults, of_backup=of_backup)
