"""Lead sets as the plan looks at them: how far each has come, and what the planned runs take."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import Count, Min, Q, Sum
from django.utils import timezone

from rentals.dates import short_date
from rentals.models import ContentsLine, Event, LoanStage, PackingLine, Part, PartKind
from rentals.planning.lead_life import LeadSetLife, PlannedLoans
from rentals.planning.stock_forecast import PLAN_AHEAD_DAYS
from rentals.selectors.stock_ahead import runs_to_pack
from rentals.states import KitState, PartPlace

_MONTH_DAYS = 30.44
_OVER = (LoanStage.RETURNED, LoanStage.SETTLED, LoanStage.LOST)


@dataclass(frozen=True)
class LeadSetRow:
    """A lead set, how far it has come, and the day it came into use."""

    part: Part
    life: LeadSetLife
    since: date

    @property
    def ended_words(self) -> str:
        """When it ended and why; empty for one that is in use."""
        day = short_date(self.part.ended_on) if self.part.ended_on else ""
        return ", ".join(filter(None, (day, self.part.get_ended_as_display())))


def lead_sets(today: date) -> list[LeadSetRow]:
    """Every lead set there ever was, those with the most loans first; three queries."""
    parts = Part.objects.filter(kind=PartKind.LEAD_SET).select_related("kit")
    loans, registered = _loans_of_each(), _registered_on()
    rows = [_row(part, loans.get(part.pk, 0), registered, today) for part in parts]
    return sorted(rows, key=lambda row: (-row.life.loans, row.part.code))


def lead_sets_in_turn(today: date, at_once: int) -> Iterator[LeadSetRow]:
    """The same in the same order, so many in memory at a time."""
    loans, registered = _loans_of_each(), _registered_on()
    named = Part.objects.filter(kind=PartKind.LEAD_SET).values_list("pk", "code")
    ranked = sorted((-loans.get(pk, 0), code, pk) for pk, code in named.iterator())
    for start in range(0, len(ranked), at_once):
        keys = [pk for _, _, pk in ranked[start : start + at_once]]
        parts = Part.objects.select_related("kit").in_bulk(keys)
        for pk in keys:
            # One that was registered by mistake and is gone by now is left out.
            if part := parts.get(pk):
                yield _row(part, loans.get(pk, 0), registered, today)


def _row(part: Part, loans: int, registered: Mapping[int, date], today: date) -> LeadSetRow:
    since = part.bought_on or registered.get(part.pk, today)
    until = part.ended_on or today
    cause = part.ended_as if part.ended_on else None
    spare = part.place == PartPlace.SPARE and not part.damaged
    months = max((until - since).days, 0) / _MONTH_DAYS
    return LeadSetRow(part, LeadSetLife(loans, months, cause, spare), since)


def _loans_of_each() -> dict[int, int]:
    """Loans that each set has come to the end of."""
    lines = PackingLine.objects.filter(part__kind=PartKind.LEAD_SET, loan__stage__in=_OVER)
    rows = lines.values_list("part").annotate(Count("loan", distinct=True)).order_by()
    return {part: count for part, count in rows if part is not None}


def _registered_on() -> dict[int, date]:
    """The day of the first event of each set."""
    events = Event.objects.filter(part__kind=PartKind.LEAD_SET)
    rows = events.values_list("part").annotate(Min("at")).order_by()
    return {part: timezone.localdate(at) for part, at in rows if part is not None}


def planned_lead_loans(today: date) -> list[PlannedLoans]:
    """The lead sets that runs to be posted within half a year take, the first to be posted
    first.
    """
    runs = list(runs_to_pack(today, today + timedelta(days=PLAN_AHEAD_DAYS)))
    lines = ContentsLine.objects.filter(
        part_kind=PartKind.LEAD_SET, kit_type__in={run.kit_type_id for run in runs}
    )
    rows = lines.values_list("kit_type").annotate(Sum("quantity")).order_by()
    a_kit = dict(rows)
    return [
        PlannedLoans(run.name, vars(run)["parcels"] * a_kit[run.kit_type_id], run.return_by)
        for run in runs
        if run.kit_type_id in a_kit
    ]


def lead_set_price() -> Decimal:
    """The replacement price on the contents list that most kits are built to; 0 where none has
    one.
    """
    lines = ContentsLine.objects.filter(part_kind=PartKind.LEAD_SET, replacement_price__gt=0)
    most = lines.annotate(
        kits=Count("kit_type__kits", filter=~Q(kit_type__kits__state=KitState.RETIRED))
    )
    line = most.order_by("-kits", "pk").first()
    return line.replacement_price if line else Decimal(0)
