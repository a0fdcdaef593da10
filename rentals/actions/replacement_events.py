"""What every act on a replacement shares: locking it, and its event."""

from __future__ import annotations

from datetime import datetime

from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Loan, Replacement

from .packing_list import list_hash
from .record import Actor, lock_kit, record_kit


def lock_replacement(replacement: Replacement) -> Replacement:
    """A replacement that is not cancelled, locked after its kit and loan.

    Raises
    ------
    Refused
        If it is cancelled.
    """
    lock_kit(replacement.loan.kit_id)
    loan = Loan.objects.select_for_update(no_key=True).get(pk=replacement.loan_id)
    rows = Replacement.objects.select_for_update(of=("self",)).select_related("faulty")
    replacement = rows.get(pk=replacement.pk)
    replacement.loan = loan
    if replacement.cancelled_at:
        raise Refused(f"The replacement for {replacement.faulty.name} was cancelled.")
    return replacement


def record_replacement(
    replacement: Replacement, act: str, text: str, *, actor: Actor, at: datetime | None
) -> None:
    """Write down what happened to a replacement, on the chain of its loan's kit."""
    data = {"replacement": replacement.pk, "act": act, "slip": slip_hash(replacement)}
    record_kit(
        lock_kit(replacement.loan.kit_id),
        Verb.NOTED,
        text,
        actor=actor,
        loan=replacement.loan,
        part=replacement.part,
        data=data,
        at=at,
    )


def slip_hash(replacement: Replacement) -> str:
    """The digest of what was sent with a replacement; empty before it is."""
    lines = list(replacement.lines.all())
    return list_hash(lines) if lines else ""
