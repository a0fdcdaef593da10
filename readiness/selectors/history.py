"""A kit's bench results over time."""

from __future__ import annotations

from readiness.models import BenchTest
from rentals.models import Kit

ROUNDS = 24


def kit_history(kit: Kit) -> list[BenchTest]:
    """The kit's rounds that reached a verdict, newest first, as many as fit one page."""
    return list(
        BenchTest.objects.filter(kit=kit).exclude(verdict="").order_by("-at", "-pk")[:ROUNDS]
    )
