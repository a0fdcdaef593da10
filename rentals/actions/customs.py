"""Keeping what the owner found out about customs."""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone

from rentals import transaction
from rentals.models import CustomsAnswer

from .record import Actor


@transaction.atomic
def answer_customs(
    home: str,
    place: str,
    *,
    needed: bool,
    note: str = "",
    actor: Actor = None,
    at: datetime | None = None,
) -> CustomsAnswer:
    """Say whether parcels from one place to another need a customs paper, for all later parcels."""
    answer, _ = CustomsAnswer.objects.update_or_create(
        home=home,
        destination=place,
        defaults={
            "needed": needed,
            "note": note.strip()[:300],
            "at": at or timezone.now(),
            "by": actor,
        },
    )
    return answer


@transaction.atomic
def drop_customs_answer(home: str, place: str) -> None:
    """Go back to what the table says."""
    CustomsAnswer.objects.filter(home=home, destination=place).delete()
