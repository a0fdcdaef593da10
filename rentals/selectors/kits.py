"""Kits and parts for lists and pages."""

from __future__ import annotations

from django.db.models import Prefetch, Q, QuerySet

from rentals.models import OPEN_STAGES, ContentsLine, Kit, Loan, Part
from rentals.states import KitState

NOT_CLEARED = "not_cleared"
DAMAGED = "damaged"
KIT_FILTERS = [
    ("", "all in use"),
    *KitState.choices,
    (NOT_CLEARED, "not cleared"),
]


def kits_listed(q: str = "", state: str = "") -> QuerySet[Kit]:
    """Kits that fit the filter, each with its open loan as `open_loans` (a list of at most one)."""
    kits = Kit.objects.select_related("kit_type").prefetch_related(
        Prefetch(
            "loans",
            queryset=Loan.objects.filter(stage__in=OPEN_STAGES).select_related(
                "enrolment__student", "enrolment__run"
            ),
            to_attr="open_loans",
        )
    )
    if state == NOT_CLEARED:
        kits = kits.filter(cleared=False).exclude(state=KitState.RETIRED)
    elif state in KitState:
        kits = kits.filter(state=state)
    else:
        kits = kits.exclude(state=KitState.RETIRED)
    q = q.strip()[:100]
    if q:
        code = q.replace(" ", "").replace("-", "")
        kits = kits.filter(
            Q(code__icontains=code)
            | Q(kit_type__name__icontains=q)
            | Q(note__icontains=q)
            | Q(loans__stage__in=OPEN_STAGES, loans__enrolment__student__name__icontains=q)
            | Q(loans__stage__in=OPEN_STAGES, loans__enrolment__run__name__icontains=q)
        ).distinct()
    return kits.order_by("code")


def parts_listed(q: str = "", kind: str = "", place: str = "") -> QuerySet[Part]:
    """Parts that fit the filter, with their kits."""
    parts = Part.objects.select_related("kit")
    if kind:
        parts = parts.filter(kind=kind)
    if place == DAMAGED:
        parts = parts.filter(damaged=True)
    elif place:
        parts = parts.filter(place=place)
    q = q.strip()[:100]
    if q:
        code = q.replace(" ", "").replace("-", "")
        parts = parts.filter(
            Q(code__icontains=code) | Q(serial__icontains=q) | Q(kit__code__icontains=code)
        )
    return parts.order_by("code")


SPARES_OFFERED = 12


def spares_for(kit: Kit, kind: str = "") -> QuerySet[Part]:
    """Sound spares that could go into a kit (of one kind, where it is given), so that nobody must
    walk to the shelf to read a code.
    """
    serial_lines = kit.kit_type.lines.filter(tracked_by=ContentsLine.Tracked.SERIAL)
    kinds = [kind] if kind else serial_lines.values("part_kind")
    sound = Part.objects.filter(kind__in=kinds, place=Part.Place.SPARE, damaged=False)
    return sound.order_by("kind", "code")[:SPARES_OFFERED]
