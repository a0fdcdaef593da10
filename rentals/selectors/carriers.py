"""Carriers to choose from, and where a loan's parcel is followed."""

from __future__ import annotations

from collections import Counter

from rentals.models import Carrier, Loan
from rentals.post.tracking import tracking_address

OFFERED = 8
#: So many loans, the newest, tell what is usual.
LOOKED_BACK = 500


def carriers_offered() -> list[str]:
    """Carriers of the last parcels, the commonest first, then those of Setup; each once."""
    last = Loan.objects.order_by("-pk").values_list("carrier", flat=True)[:LOOKED_BACK]
    times = Counter(dict.fromkeys(Carrier.objects.values_list("name", flat=True), 0))
    times.update(filter(None, last))
    names: dict[str, str] = {}
    for name in sorted(times, key=lambda name: (-times[name], name)):
        names.setdefault(name.casefold(), name)
    return list(names.values())[:OFFERED]


def tracking_url(loan: Loan) -> str:
    """The page of a loan's parcel at its carrier; empty without a number or such a page."""
    if not (loan.carrier and loan.tracking_number):
        return ""
    carrier = Carrier.objects.filter(name__iexact=loan.carrier).first()
    return tracking_address(carrier.address_pattern, loan.tracking_number) if carrier else ""
