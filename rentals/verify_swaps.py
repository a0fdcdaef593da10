"""Are swaps in the field as their events say?"""

from __future__ import annotations

from collections.abc import Iterator

from django.db.models import F

from rentals.models import Event, Loan
from rentals.states import LoanStage


def swap_faults() -> Iterator[str]:
    """Sentences for kits that stand in for others otherwise than their events say."""
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
