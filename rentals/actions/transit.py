"""How long the post takes, place by place."""

from __future__ import annotations

from rentals import transaction
from rentals.models import TransitTime


@transaction.atomic
def set_transit(place: str, *, days_out: int, days_back: int) -> TransitTime:
    """Keep the working days that the post takes to a place and back; what was set before is
    replaced.
    """
    days = {"days_out": days_out, "days_back": days_back}
    row, _ = TransitTime.objects.update_or_create(destination=place, defaults=days)
    return row


@transaction.atomic
def drop_transit(place: str) -> str:
    """Forget what was set for a place: it counts as the usual one again."""
    TransitTime.objects.filter(destination=place).delete()
    return place
