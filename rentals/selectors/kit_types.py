"""Kit types for lists and pages: how many lines each has, and how many kits are in use."""

from __future__ import annotations

from django.db.models import Count, Q, QuerySet

from rentals.models import KitType
from rentals.states import KitState


def kit_types_listed() -> QuerySet[KitType]:
    """All kit types, each with `kit_count` and `line_count`."""
    in_use = ~Q(kits__state=KitState.RETIRED)
    return KitType.objects.annotate(
        kit_count=Count("kits", filter=in_use, distinct=True),
        line_count=Count("lines", distinct=True),
    )


def kits_in_use(kit_type: KitType) -> int:
    """How many kits of a type are not retired."""
    return kit_type.kits.exclude(state=KitState.RETIRED).count()
