"""Whom a kit is lent to now."""

from __future__ import annotations

from rentals.models import OPEN_STAGES, Kit, Loan


def open_loan(kit: Kit) -> Loan | None:
    """The loan the kit is on now, with its people."""
    return (
        Loan.objects.filter(kit=kit, stage__in=OPEN_STAGES)
        .select_related("enrolment__student", "enrolment__run", "kit__kit_type")
        .first()
    )
