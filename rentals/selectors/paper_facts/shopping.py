"""What the shopping list says on paper."""

from __future__ import annotations

from collections.abc import Iterable

from django.utils import timezone

from rentals.paper.facts import PracticeFacts, ShoppingFacts, ShoppingLineFacts
from rentals.selectors.shopping_list import ShoppingRow


def shopping_facts(rows: Iterable[ShoppingRow], practice: PracticeFacts) -> ShoppingFacts:
    """What is to be ordered, as the paper says it."""
    lines = [
        ShoppingLineFacts(
            row.item.name,
            row.item.supplier,
            row.forecast.here,
            row.forecast.needed,
            row.needed_by,
            row.forecast.order_by,
            row.forecast.packs,
            row.item.pack_size,
            row.forecast.cost,
            row.why,
            row.urgency,
        )
        for row in rows
        if row.ordered
    ]
    return ShoppingFacts(practice, timezone.localdate(), tuple(lines))
