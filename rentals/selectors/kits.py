"""Kits and parts for lists and pages."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from django.db.models import Case, OuterRef, Prefetch, Q, QuerySet, Subquery, Value, When
from django.db.models.functions import Coalesce, Least

from rentals.due_dates import due_mark
from rentals.marks import Mark, Sign, mark_of, score_mark
from rentals.models import OPEN_STAGES, ContentsLine, Kit, Loan, Part
from rentals.next_acts import shows_clearance, shows_refusal, wants_clearance
from rentals.selectors.contents import FITTED_FIRST
from rentals.selectors.search import (
    kit_types_named,
    kits_by_code,
    loans_found,
    parts_found,
    together,
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
        kits = kits.filter(state__in=IN_USE)
    if q:
        kits = kits.filter(pk__in=_kits_found(q))
    return kits.order_by("code")


def _kits_found(q: str) -> QuerySet[Kit]:
    """Kits by their code, type or note, or by the student or run of their open loan."""
    noted = Kit.objects.exclude(note="").filter(note__icontains=q)
    of_type = Kit.objects.filter(kit_type__in=kit_types_named(q))
    held = Kit.objects.filter(loans__in=loans_found(q).filter(stage__in=OPEN_STAGES))
    return together(kits_by_code(q), of_type, noted, held)


#: Stands for a score that was not judged, where kits are put in the order of their worst one.
_NOT_JUDGED = Value(101.0)


def with_sort_facts(kits: QuerySet[Kit]) -> QuerySet[Kit]:
    """Kits with what a list of them is sorted by: `life` (the place of the state in the loop),
    `worst` (the lowest score), `due` of the open loan.
    """
    life = [When(state=state, then=Value(place)) for place, state in enumerate(KitState)]
    scores = ("score_continuity", "score_noise", "score_battery")
    loan = Loan.objects.filter(kit=OuterRef("pk"), stage__in=OPEN_STAGES)
    return kits.annotate(
        life=Case(*life),
        worst=Least(*(Coalesce(score, _NOT_JUDGED) for score in scores)),
        due=Subquery(loan.values("due_on")[:1]),
    )


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


def marks_in_list(kit: Kit) -> list[Mark]:
    """The marks of a kit in a list: as on its page, with the clearance only of kits that go out
    next.
    """
    cleared = _clearance(kit) if wants_clearance(KitState(kit.state)) else ()
    return [kit.mark, *cleared, *_override(kit)]


def refusal_of(kit: Kit) -> str:
    """What the bench said against a kit, where it still matters."""
    matters = not kit.cleared and shows_refusal(KitState(kit.state))
    return kit.not_cleared_reason if matters else ""


@dataclass(frozen=True)
class KitRow:
    """One kit of the list with its marks, its open loan, how far off that is due where the kit is
    away, and whether all of its scores pass.
    """

    kit: Kit
    marks: list[Mark]
    loan: Loan | None
    due: Mark | None
    all_pass: bool


def kit_row(kit: Kit, today: date) -> KitRow:
    """The row of a kit as `kits_listed` gives it."""
    loans: list[Loan] = vars(kit)["open_loans"]
    loan = loans[0] if loans else None
    due = None
    if loan is not None and loan.stage == LoanStage.AWAY:
        due = due_mark(loan.due_on, today)
    return KitRow(kit, marks_in_list(kit), loan, due, _all_pass(kit))


def _all_pass(kit: Kit) -> bool:
    scores = (kit.score_continuity, kit.score_noise, kit.score_battery)
    return all(score_mark(score).band == Sign.PASSES for score in scores)


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
