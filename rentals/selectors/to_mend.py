"""Kits that are no kit for a plan or a forecast until they are mended."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import OuterRef, Subquery

from rentals.models import OPEN_STAGES, Event, Kit, Loan
from rentals.selectors.contents import REFUSED, THAT_DECIDE, lacking_in
from rentals.states import KitState

_NOT_HERE = (KitState.PACKED, KitState.AWAY, KitState.RETIRED)


def last_words(kit: str = "pk") -> Subquery:
    """The last thing that decided whether a kit may go out; `kit` leads to it from other rows."""
    events = Event.objects.filter(kit=OuterRef(kit), verb__in=THAT_DECIDE)
    return Subquery(events.order_by("-number").values("text")[:1])


def kits_to_mend(kit_types: Iterable[int]) -> dict[str, str]:
    """Kits of some types that are here and lack a part, have a damaged one, or were refused by the
    bench and not mended since, and those that come back as faulty: by the code, what is to be
    done, in sentences.

    A cleared kit is whole, since every change of its parts takes the clearance away.
    """
    kits = Kit.objects.filter(kit_type__in=kit_types, cleared=False, override_reason="")
    kits = kits.exclude(state__in=_NOT_HERE).annotate(last_words=last_words())
    kits = kits.select_related("kit_type").prefetch_related("kit_type__lines", "parts")
    found = {kit.code: _to_do(kit) for kit in kits.order_by("code")}
    return _coming_back_faulty(kit_types) | {code: words for code, words in found.items() if words}


def _coming_back_faulty(kit_types: Iterable[int]) -> dict[str, str]:
    """Kits that students send back because something is wrong with them."""
    loans = Loan.objects.filter(kit__kit_type__in=kit_types, stage__in=OPEN_STAGES)
    rows = loans.exclude(fault="").order_by("kit__code").values_list("kit__code", "fault")
    return {code: f"It comes back as faulty: {fault}." for code, fault in rows}


def _to_do(kit: Kit) -> str:
    refused = str(vars(kit)["last_words"]).startswith(REFUSED)
    reasons = [kit.not_cleared_reason] if refused else []
    return " ".join(filter(None, [*reasons, *lacking_in(kit)]))
