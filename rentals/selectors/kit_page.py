"""What a kit's own page shows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import Exists, Q, QuerySet

from rentals.known_query import A_NUMBER, KnownQuery
from rentals.lifecycle import Verb, may
from rentals.marks import Mark
from rentals.models import Earmark, Event, FaultReport, Kit, Loan, Shortfall
from rentals.next_acts import kit_act, kit_sentence
from rentals.selectors.broken_plans import SetAside, set_aside_rows
from rentals.selectors.contents import KitContents, kit_contents
from rentals.selectors.earmarks import earmarks
from rentals.selectors.faults import faults_about, faults_of_kit
from rentals.selectors.found import FoundRow, finds_about, finds_of_kit
from rentals.selectors.kits import marks_on_page, refusal_of
from rentals.selectors.next_steps import (
    Button,
    button,
    kit_situation,
    shortfall_button,
)

LOANS_SHOWN = 8
EVENTS_SHOWN = 12


@dataclass(frozen=True)
class KitPage:
    """Where a kit stands, what it holds, what happened to it, and what can be done with it.

    `loan` is the one it is on now. `in_house`: it can be held; `can_change`: its parts can.
    """

    contents: KitContents
    loan: Loan | None
    loans: list[Loan]
    events: QuerySet[Event]
    shortfalls: list[tuple[Shortfall, Button]]
    found: list[FoundRow]
    faults: list[tuple[FaultReport, Button]]
    next: Button | None
    marks: list[Mark]
    sentence: str
    refusal: str
    in_house: bool
    can_change: bool
    can_retire: bool
    set_aside: list[SetAside]


def kit_page(kit: Kit, today: date, *, with_money: bool = True) -> KitPage:
    """All of that for a kit on a day; `with_money` as in `kit_events`."""
    loans = list(kit.loans.select_related("enrolment__student", "enrolment__run")[:LOANS_SHOWN])
    current = next((loan for loan in loans if loan.is_open), None)
    situation = kit_situation(kit, current, today)
    way = kit_act(situation).here
    ((shortfalls, found, faults, set_aside),) = _SELDOM.rows(kit.pk)
    return KitPage(
        contents=kit_contents(kit),
        loan=current,
        loans=loans,
        events=kit_events(kit, with_money=with_money)[:EVENTS_SHOWN],
        shortfalls=_open_shortfalls(kit) if shortfalls else [],
        found=finds_of_kit(kit) if found else [],
        faults=faults_of_kit(kit) if faults else [],
        next=button(way, kit=kit) if way else None,
        marks=marks_on_page(kit),
        sentence=kit_sentence(situation),
        refusal=refusal_of(kit),
        in_house=may(Verb.HELD, situation.state),
        can_change=may(Verb.FITTED, situation.state),
        can_retire=may(Verb.RETIRED, situation.state) and current is None,
        set_aside=set_aside_rows(earmarks().filter(kit=kit), today) if set_aside else [],
    )


def kit_events(kit: Kit, *, with_money: bool) -> QuerySet[Event]:
    """What happened to a kit, newest first; without what was written into the ledger for whoever
    may not see money.
    """
    events = Event.objects.filter(kit=kit).order_by("-number")
    return events if with_money else events.exclude(data__has_key="ledger")


def _open_shortfalls(kit: Kit) -> list[tuple[Shortfall, Button]]:
    related = ("packing_line", "loan__enrolment__student")
    unsettled = Shortfall.objects.filter(_shortfalls_about(kit.pk)).select_related(*related)
    return [(short, shortfall_button(short)) for short in unsettled]


def _shortfalls_about(kit: int) -> Q:
    return Q(loan__kit=kit, state__in=Shortfall.UNSETTLED)


def _what_there_is(kit: int) -> QuerySet[Kit, tuple[bool, ...]]:
    """Whether there is any of what most kits have none of. To name a hundred columns of six tables
    costs several times what it takes to look, and most often for nothing.
    """
    seldom = (
        Shortfall.objects.filter(_shortfalls_about(kit)),
        finds_about(kit),
        FaultReport.objects.filter(faults_about(kit)),
        Earmark.objects.filter(kit=kit),
    )
    return Kit.objects.filter(pk=kit).order_by().values_list(*map(Exists, seldom))


_SELDOM = KnownQuery(_what_there_is, A_NUMBER)
