"""Are swaps in the field as their events say?"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from django.db.models import F, Q

from rentals.actions.replacement_events import slip_hash
from rentals.models import Loan, Replacement
from rentals.states import LoanStage

from .chains import Told


def swap_faults(kits: Collection[int], told: Told) -> Iterator[str]:
    """Sentences for kits and parts that stand in for others otherwise than the events of these kits
    say.
    """
    yield from _of_parts(kits, told)
    yield from _of_kits(kits, told)


def _of_parts(kits: Collection[int], told: Told) -> Iterator[str]:
    rows = Replacement.objects.filter(loan__kit__in=kits).order_by("pk")
    rows = rows.select_related("loan__kit", "faulty").prefetch_related("lines")
    for row in rows.iterator(chunk_size=500):
        acts = {"asked": row.asked_at, "sent": row.sent_at, "cancelled": row.cancelled_at}
        acts["faulty_back"] = row.faulty_back_at
        found = {act for act, moment in acts.items() if moment is not None}
        if told.swaps.get(row.pk) != found or told.slips.get(row.pk) != slip_hash(row):
            code, name = row.loan.kit.code, row.faulty.name
            yield f"{code}: what was sent in place of {name} is not what its events say."


def _of_kits(kits: Collection[int], told: Told) -> Iterator[str]:
    standing = Loan.objects.filter(replaces__kit__in=kits).exclude(stage=LoanStage.CANCELLED)
    found = {loan: pk for loan, pk in standing.values_list("replaces", "pk") if loan is not None}
    of_kits = Loan.objects.filter(kit__in=kits)
    faulty = set(of_kits.exclude(fault="").values_list("pk", flat=True))
    swapped = sorted({*told.replaced_by, *found, *faulty})
    codes = dict(Loan.objects.filter(pk__in=swapped).values_list("pk", "kit__code"))
    for loan in swapped:
        if told.replaced_by.get(loan) != found.get(loan) or (loan in faulty) != (loan in found):
            whose = codes.get(loan, f"Loan {loan}")
            yield f"{whose}: which kit stands in for it is not what its events say."
    strangers = standing.filter(~Q(enrolment=F("replaces__enrolment")))
    for code in strangers.values_list("kit__code", flat=True):
        yield f"{code}: it stands in for the kit of another student."
