"""Kits and parts for lists and pages."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple

from django.db.models import Case, OuterRef, Prefetch, Q, QuerySet, Subquery, Value, When
from django.db.models.functions import Coalesce, Least

from rentals.addresses import page_address
from rentals.due_dates import due_mark
from rentals.known_query import KnownRows
from rentals.marks import Mark, Sign, mark_of, score_band
from rentals.models import OPEN_STAGES, ContentsLine, Kit, Loan, Part
from rentals.next_acts import shows_clearance, shows_refusal, wants_clearance
from rentals.selectors.contents import FITTED_FIRST
from rentals.selectors.search import (
    is_of_people,
    kit_types_named,
    kits_by_code,
    parts_found,
    together,
    worded_once,
)
from rentals.states import KitState, LoanStage

#: Named one by one, so that an index leads to them.
IN_USE = [state for state in KitState if state is not KitState.RETIRED]
NOT_CLEARED = "not_cleared"
DAMAGED = "damaged"
KIT_FILTERS = [
    ("", "all in use"),
    *KitState.choices,
    (NOT_CLEARED, "not cleared"),
]


def kits_listed(q: str = "", state: str = "") -> QuerySet[Kit]:
    """Kits that fit the filter."""
    kits = Kit.objects.all()
    if state == NOT_CLEARED:
        kits = kits.filter(cleared=False).exclude(state=KitState.RETIRED)
    elif state in KitState:
        kits = kits.filter(state=state)
    else:
        kits = kits.filter(state__in=IN_USE)
    if q:
        kits = kits.filter(pk__in=_kits_found(q))
    return kits.order_by("code")


def with_open_loans(kits: QuerySet[Kit]) -> QuerySet[Kit]:
    """Kits with their type, and each with its open loan as `open_loans` (a list of at most one)."""
    open_loans = Loan.objects.filter(stage__in=OPEN_STAGES)
    open_loans = open_loans.select_related("enrolment__student", "enrolment__run")
    loans = Prefetch("loans", queryset=open_loans, to_attr="open_loans")
    return kits.select_related("kit_type").prefetch_related(loans)


def _kits_found(q: str) -> QuerySet[Kit]:
    """Kits by their code, type or note, or by the student or run of their open loan."""
    noted = Kit.objects.exclude(note="").filter(note__icontains=q)
    of_type = Kit.objects.filter(kit_type__in=kit_types_named(q))
    held = Kit.objects.filter(pk__in=_kits_of_people(q))
    return together(kits_by_code(q), of_type, noted, held)


@worded_once
def _kits_of_people(typed: str) -> QuerySet[Any]:
    open_loans = Loan.objects.filter(is_of_people(typed), stage__in=OPEN_STAGES)
    return open_loans.order_by().values("kit")


#: Stands for a score that was not judged, where kits are put in the order of their worst one.
_NOT_JUDGED = Value(101.0)


def with_sort_facts(kits: QuerySet[Kit], fields: Iterable[str]) -> QuerySet[Kit]:
    """Kits with those of these facts that a list of them is sorted by: `life` (the place of the
    state in the loop), `worst` (the lowest score), `due` of the open loan.
    """
    life = [When(state=state, then=Value(place)) for place, state in enumerate(KitState)]
    scores = ("score_continuity", "score_noise", "score_battery")
    loan = Loan.objects.filter(kit=OuterRef("pk"), stage__in=OPEN_STAGES)
    facts = {
        "life": Case(*life),
        "worst": Least(*(Coalesce(score, _NOT_JUDGED) for score in scores)),
        "due": Subquery(loan.values("due_on")[:1]),
    }
    return kits.annotate(**{name: facts[name] for name in fields if name in facts})


def kits_that_wait_for_bench() -> QuerySet[Kit]:
    """Kits at the bench, and kits assigned or on the shelf that are neither cleared nor overridden.
    A new kit is not among them before it has all its parts.
    """
    stopped = Q(state__in=[KitState.ASSIGNED, KitState.SHELF], cleared=False, override_reason="")
    waiting = Kit.objects.filter(Q(state=KitState.BENCH) | stopped)
    return waiting.exclude(not_cleared_reason__in=FITTED_FIRST)


def kits_without_parts() -> QuerySet[Kit]:
    """New kits that lack parts: some, or all."""
    new = Kit.objects.filter(not_cleared_reason__in=FITTED_FIRST)
    return new.exclude(state=KitState.RETIRED).order_by("code")


def _clearance(kit: Kit) -> Iterator[Mark]:
    yield mark_of(Sign.CLEARED if kit.cleared else Sign.NOT_CLEARED)


def _override(kit: Kit) -> Iterator[Mark]:
    if kit.override_reason:
        yield mark_of(Sign.OVERRIDDEN)


def marks_on_page(kit: Kit) -> list[Mark]:
    """The marks of a kit on its own page: state, clearance where it matters, override."""
    cleared = _clearance(kit) if shows_clearance(KitState(kit.state)) else ()
    return [kit.mark, *cleared, *_override(kit)]


def marks_in_list(kit: Kit) -> tuple[Mark, ...]:
    """The marks of a kit in a list: as on its page, with the clearance only of kits that go out
    next.
    """
    cleared = _clearance(kit) if wants_clearance(KitState(kit.state)) else ()
    return (kit.mark, *cleared, *_override(kit))


def refusal_of(kit: Kit) -> str:
    """What the bench said against a kit, where it still matters."""
    matters = not kit.cleared and shows_refusal(KitState(kit.state))
    return kit.not_cleared_reason if matters else ""


class Holder(NamedTuple):
    """Who has a kit, or is to get it: the student with the address of their page, the run, the day
    it is due back, and the stage of the loan.
    """

    name: str
    url: str
    run: str
    due_on: date
    stage: str


@dataclass(frozen=True)
class KitRow:
    """One kit of the list with its marks, its holder, how far off the day it is due is where the
    kit is away, and whether all of its scores pass.
    """

    kit: Kit
    marks: tuple[Mark, ...]
    holder: Holder | None
    due: Mark | None
    all_pass: bool


#: What the list tells of a kit, and all that it reads.
_OF_A_ROW = (
    *("code", "state", "cleared", "hold_reason", "override_reason", "scored_at"),
    *("score_continuity", "score_noise", "score_battery"),
)
#: Kits by their numbers for `kit_rows` and the lines of the list.
kits_of_rows = KnownRows(lambda: Kit.objects.only(*_OF_A_ROW).order_by()).of


def kit_rows(kits: Iterable[Kit], today: date) -> list[KitRow]:
    """The rows of kits, in one further query."""
    kits = list(kits)
    holders = _holders([kit.pk for kit in kits])
    return [_kit_row(kit, holders.get(kit.pk), today) for kit in kits]


def _for_holders() -> QuerySet[Loan, Any]:
    student, run = "enrolment__student", "enrolment__run__name"
    loans = Loan.objects.filter(stage__in=OPEN_STAGES).order_by()
    return loans.values_list("kit", student, f"{student}__name", run, "due_on", "stage")


_HELD = KnownRows(_for_holders, by="kit")


def _holders(kits: list[int]) -> dict[int, Holder]:
    """Who has each of these kits, by their numbers."""
    return {
        kit: Holder(name, page_address("rentals:student", pk), run_name, due_on, stage)
        for kit, pk, name, run_name, due_on, stage in _HELD.rows(kits)
    }


def _kit_row(kit: Kit, holder: Holder | None, today: date) -> KitRow:
    away = holder is not None and holder.stage == LoanStage.AWAY
    due = due_mark(holder.due_on, today) if holder and away else None
    return KitRow(kit, marks_in_list(kit), holder, due, _all_pass(kit))


def _all_pass(kit: Kit) -> bool:
    scores = (kit.score_continuity, kit.score_noise, kit.score_battery)
    return all(score_band(score) == Sign.PASSES for score in scores)


def parts_listed(q: str = "", kind: str = "", place: str = "") -> QuerySet[Part]:
    """Parts that fit the filter, with their kits."""
    parts = Part.objects.select_related("kit")
    if kind:
        parts = parts.filter(kind=kind)
    if place == DAMAGED:
        parts = parts.filter(damaged=True)
    elif place:
        parts = parts.filter(place=place)
    if q:
        fitted = Part.objects.filter(kit__in=kits_by_code(q))
        parts = parts.filter(pk__in=together(parts_found(q), fitted))
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
