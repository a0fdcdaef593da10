"""A kit's round on the bench: since when captures count, which of them do, and why the others do
not.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Max, Prefetch

from readiness.models import Capture, Verdict
from rentals.lifecycle import Verb
from rentals.models import Event, Kit
from rentals.states import KitState

AT_THE_BENCH = frozenset(
    {KitState.SHELF, KitState.ASSIGNED, KitState.CHECK, KitState.BENCH, KitState.HELD}
)


@dataclass(frozen=True)
class Since:
    """When a round began and what began it, in words ("its last return"); ``at`` None: from the
    first day.
    """

    at: datetime | None
    words: str


def since_of(returned_at: datetime | None, fitted_at: datetime | None) -> Since:
    """The beginning of a round: the last return or the last part fitted, whichever is later."""
    if fitted_at and (returned_at is None or fitted_at > returned_at):
        return Since(fitted_at, "the last part was fitted")
    return Since(returned_at, "its last return" if returned_at else "it was registered")


def round_since(kit: Kit) -> Since:
    """When the kit's present round began."""
    fitted_at = Event.objects.filter(kit=kit, verb=Verb.FITTED).aggregate(last=Max("at"))["last"]
    return since_of(kit.returned_at, fitted_at)


def at_the_bench(kit: Kit) -> bool:
    """Whether a capture of this kit can count now: not packed, not away, not retired."""
    return KitState(kit.state) in AT_THE_BENCH


def not_counted(capture: Capture, kit: Kit, since: Since) -> str:
    """Why a scored capture does not count for its kit now; empty where it does."""
    if capture.set_aside:
        return f"Set aside: {capture.set_aside}"
    if not at_the_bench(kit):
        return f"The kit is {kit.get_state_display()}: captures count when it is at the bench."
    if since.at and capture.taken < since.at:
        return f"Taken before {since.words}: does not count."
    return ""


def counting(kit: Kit, since: Since) -> list[Capture]:
    """The scored captures of a kit's present round, newest first, each with its current verdict in
    ``now``.
    """
    if not at_the_bench(kit):
        return []
    found = Capture.objects.filter(kit=kit, status=Capture.Status.SCORED, set_aside="")
    if since.at:
        found = found.filter(taken__gte=since.at)
    return list(with_verdict(found.order_by("-taken", "-pk")))


def with_verdict(captures):
    """A capture queryset with each one's current verdict preloaded as a list of one in
    ``current_verdicts``.
    """
    current = Prefetch("verdicts", Verdict.objects.filter(current=True), to_attr="current_verdicts")
    return captures.prefetch_related(current)


def verdict_of(capture: Capture) -> Verdict | None:
    """The preloaded current verdict of a capture, or None."""
    found = getattr(capture, "current_verdicts", None)
    return found[0] if found else None
