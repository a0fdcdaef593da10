"""Whom kits are lent to now."""

from __future__ import annotations

from collections.abc import Iterable

from rentals.models import OPEN_STAGES, Kit, Loan


def open_loan(kit: Kit) -> Loan | None:
    """The loan the kit is on now, with its people."""
    return (
        Loan.objects.filter(kit=kit, stage__in=OPEN_STAGES)
        .select_related("enrolment__student", "enrolment__run", "kit__kit_type")
        .first()
    )


def holders(kits: Iterable[Kit]) -> dict[int, str]:
    """Names of the students for whom these kits are meant now, by the kits' numbers."""
    loans = Loan.objects.filter(kit__in=list(kits), stage__in=OPEN_STAGES)
    return dict(loans.values_list("kit_id", "enrolment__student__name"))
