"""Are swaps in the field as their events say?"""

from __future__ import annotations

from collections.abc import Iterator

from django.db.models import F

from rentals.actions.replacement_events import slip_hash
from rentals.models import Event, Loan, Replacement
from rentals.states import LoanStage


def swap_faults() -> Iterator[str]:
    """Sentences for kits and parts that stand in for others otherwise than their events say."""
    yield from _of_parts()
    yield from _of_kits()


def _of_parts() -> Iterator[str]:
    told: dict[int, set[str]] = {}
    slips: dict[int, str] = {}
    events = Event.objects.filter(data__has_key="replacement").order_by("pk")
    for data in events.values_list("data", flat=True).iterator(chunk_size=2000):
        told.setdefault(data["replacement"], set()).add(data["act"])
        slips[data["replacement"]] = data["slip"]
    rows = Replacement.objects.select_related("loan__kit", "faulty").prefetch_related("lines")
    for row in rows.order_by("pk").iterator(chunk_size=500):
        acts = {"asked": row.asked_at, "sent": row.sent_at, "cancelled": row.cancelled_at}
        acts["faulty_back"] = row.faulty_back_at
        found = {act for act, moment in acts.items() if moment is not None}
        if told.get(row.pk) != found or slips.get(row.pk) != slip_hash(row):
            code, name = row.loan.kit.code, row.faulty.name
            yield f"{code}: what was sent in place of {name} is not what its events say."


def _of_kits() -> Iterator[str]:
    events = Event.objects.filter(data__has_key="replaced_by").order_by("pk")
    facts = events.filter(loan__isnull=False).values_list("loan", "data")
    told = {loan: data["replaced_by"] for loan, data in facts if loan is not None}
    standing = Loan.objects.filter(replaces__isnull=False).exclude(stage=LoanStage.CANCELLED)
    found = {loan: pk for loan, pk in standing.values_list("replaces", "pk") if loan is not None}
    faulty = set(Loan.objects.exclude(fault="").values_list("pk", flat=True))
    loans = Loan.objects.filter(pk__in=[*told, *found, *faulty])
    codes = dict(loans.values_list("pk", "kit__code"))
    for loan in sorted({*told, *found, *faulty}):
        if told.get(loan) != found.get(loan) or (loan in faulty) != (loan in found):
            yield f"{codes[loan]}: which kit stands in for it is not what its events say."
    strangers = standing.exclude(enrolment=F("replaces__enrolment"))
    for code in strangers.values_list("kit__code", flat=True):
        yield f"{code}: it stands in for the kit of another student."
