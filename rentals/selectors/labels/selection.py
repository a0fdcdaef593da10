"""Which rows get a label: of a kit, of a run, found by a word, or ticked one by one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db.models import Q, QuerySet

from rentals.codes import grouped, is_code, parse_code
from rentals.known_query import KnownRows
from rentals.models import OPEN_STAGES, CourseRun, Kit, LeadSet, Loan, Part
from rentals.selectors.packing import TO_POST
from rentals.states import KitState

from .kinds import KINDS, MOST_OFFERED, LabelKind


@dataclass(frozen=True)
class LabelSelection:
    """Which labels are asked for.

    ``ticked`` are codes of kits or parts; with none ticked all that fit are meant. ``loan`` is the
    number of the one loan whose parcel is labelled.
    """

    kind: str
    kit: str = ""
    run: CourseRun | None = None
    loan: int | None = None
    search: str = ""
    ticked: tuple[str, ...] = ()

    @property
    def of(self) -> LabelKind:
        """The kind's line in the table."""
        return KINDS[self.kind]


@dataclass(frozen=True)
class LabelChoice:
    """One line of the list to tick."""

    code: str
    title: str
    detail: str
    ticked: bool
    part_kind: str = ""


_OF_PARCELS: KnownRows[Any] = KnownRows(
    lambda: (
        Loan.objects.select_related("kit", "enrolment__student", "enrolment__run")
        .only("kit__code", "enrolment__student__name", "enrolment__run__name")
        .order_by()
    )
)
_OF_KITS: KnownRows[Any] = KnownRows(
    lambda: Kit.objects.select_related("kit_type").only("code", "kit_type__name").order_by()
)
#: Of sets of leads as well, which are parts.
_OF_PARTS: KnownRows[Any] = KnownRows(
    lambda: (
        Part.objects.select_related("kit")
        .only("code", "kind", "serial", "place", "kit__code")
        .order_by()
    )
)


def rows_to_label(selection: LabelSelection) -> QuerySet[Any]:
    """The rows whose labels are printed, by code: those ticked, else all that fit."""
    return _ticked_rows(selection) if selection.ticked else _fitting_rows(selection)


def choices(selection: LabelSelection) -> tuple[list[LabelChoice], int]:
    """The first rows to tick, those ticked already in front, and how many more fit."""
    ticked = _shown(selection, _ticked_rows(selection)) if selection.ticked else []
    unticked = _fitting_rows(selection)
    if selection.ticked:
        unticked = unticked.exclude(_is_ticked(selection))
    offered = _shown(selection, unticked[:MOST_OFFERED])
    lines = [_choice(selection, row, ticked=True) for row in ticked]
    lines += [_choice(selection, row, ticked=False) for row in offered]
    return lines, unticked.count() - len(offered)


def _shown(selection: LabelSelection, rows: QuerySet[Any]) -> list[Any]:
    """Rows with no more of each than its line tells."""
    plain = rows.select_related(None).prefetch_related(None)
    read = _OF_PARCELS if selection.of.of_parcels else _OF_KITS
    if selection.kind in ("part", "lead"):
        read = _OF_PARTS
    return read.of(list(plain.values_list("pk", flat=True)))


def _ticked_rows(selection: LabelSelection) -> QuerySet[Any]:
    return _all_rows(selection).filter(_is_ticked(selection))


def _is_ticked(selection: LabelSelection) -> Q:
    return Q(**{f"{selection.of.ticked_by}__in": selection.ticked})


def _fitting_rows(selection: LabelSelection) -> QuerySet[Any]:
    """All rows in which the word that was typed is found."""
    rows, search, kind = _all_rows(selection), selection.search, selection.of
    if not search:
        return rows
    code = parse_code(search) if is_code(search) else search
    criteria = Q()
    for path in kind.code_paths:
        criteria |= Q(**{f"{path}__icontains": code})
    for path in kind.text_paths:
        criteria |= Q(**{f"{path}__icontains": search})
    return rows.filter(criteria)


def _all_rows(selection: LabelSelection) -> QuerySet[Any]:
    if selection.of.of_parcels:
        return _parcels(selection)
    if selection.kind == "kit":
        return _kits(selection)
    return _parts(selection)


def _kits(selection: LabelSelection) -> QuerySet[Kit]:
    kits = Kit.objects.exclude(state=KitState.RETIRED).select_related("kit_type").order_by("code")
    return _of_kit_and_run(kits, selection, kit="pk", kit_code="code")


def _parts(selection: LabelSelection) -> QuerySet[Any]:
    """Parts, or sets of leads with their leads, that are still in use."""
    is_lead = selection.kind == "lead"
    parts = LeadSet.objects.prefetch_related("leads") if is_lead else _parts_with_leads()
    in_use = (
        parts.exclude(place__in=(Part.Place.LOST, Part.Place.RETIRED))
        .select_related("kit")
        .order_by("kind", "code")
    )
    return _of_kit_and_run(in_use, selection, kit="kit", kit_code="kit__code")


def _parts_with_leads() -> QuerySet[Part]:
    return Part.objects.prefetch_related("leadset__leads")


def _of_kit_and_run(
    rows: QuerySet[Any], selection: LabelSelection, *, kit: str, kit_code: str
) -> QuerySet[Any]:
    """Those of one kit, and of the kits that are out on a run's open loans."""
    if selection.kit:
        rows = rows.filter(**{kit_code: selection.kit})
    if selection.run:
        loans = Loan.objects.filter(enrolment__run=selection.run, stage__in=OPEN_STAGES)
        rows = rows.filter(**{f"{kit}__in": loans.values("kit")})
    return rows


def _parcels(selection: LabelSelection) -> QuerySet[Loan]:
    """One loan whatever its stage, or the parcels that still have to be posted."""
    loans = Loan.objects.select_related(
        "kit__kit_type", "enrolment__student", "enrolment__run"
    ).order_by("kit__code")
    if selection.loan is not None:
        return loans.filter(pk=selection.loan)
    loans = loans.filter(stage__in=OPEN_STAGES if selection.kit else TO_POST)
    if selection.kit:
        loans = loans.filter(kit__code=selection.kit)
    if selection.run:
        loans = loans.filter(enrolment__run=selection.run)
    return loans


def _choice(selection: LabelSelection, row: Any, *, ticked: bool) -> LabelChoice:
    if selection.of.of_parcels:
        run, student = row.enrolment.run, row.enrolment.student
        return LabelChoice(row.kit.code, student.name, run.name, ticked)
    if selection.kind == "kit":
        return LabelChoice(row.code, row.kit_type.name, "", ticked)
    where = f"in kit {grouped(row.kit.code)}" if row.kit else row.get_place_display()
    detail = f"serial {row.serial}, {where}"
    return LabelChoice(row.code, row.get_kind_display(), detail, ticked, row.kind)
