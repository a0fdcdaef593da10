"""Carriers to choose from, and where a loan's parcel is followed."""

from __future__ import annotations

from django.db.models import Count, Value

from rentals.models import Carrier, Loan
from rentals.post.tracking import tracking_address

OFFERED = 8


def carriers_offered() -> list[str]:
    """Carriers written down before, the commonest first, then those of Setup; each once."""
    used = Loan.objects.exclude(carrier="").order_by().values("carrier")
    counts = used.annotate(times=Count("pk")).values_list("carrier", "times")
    set_up = Carrier.objects.order_by().annotate(times=Value(0)).values_list("name", "times")
    both = counts.union(set_up).order_by("-times", "carrier")
    names: dict[str, str] = {}
    for name, _ in both[: 2 * OFFERED]:
        names.setdefault(name.casefold(), name)
    return list(names.values())[:OFFERED]


def tracking_url(loan: Loan) -> str:
    """The page of a loan's parcel at its carrier; empty without a number or such a page."""
    if not (loan.carrier and loan.tracking_number):
        return ""
    carrier = Carrier.objects.filter(name__iexact=loan.carrier).first()
    return tracking_address(carrier.address_pattern, loan.tracking_number) if carrier else ""
