"""What can be given a label: kits, parts, lead sets and parcels, all of them or some, as rows to
print.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.db.models import Q, QuerySet

from rentals.codes import grouped, is_code, parse_code
from rentals.models import OPEN_STAGES, CourseRun, Kit, LeadSet, Loan, Part
from rentals.states import KitState

from .packing import TO_POST

KINDS = {
    "kit": "Kit labels",
    "part": "Part labels",
    "lead": "Lead tags",
    "address": "Address labels",
    "return": "Return labels, to put into the parcel",
}
PARCEL_KINDS = ("address", "return")
MOST = 1000
SHOWN = 50


@dataclass(frozen=True)
class Wanted:
    """Which labels are asked for; ``codes`` are ticked kits or parts, none ticked means all that
    fit.
    """

    kind: str
    kit: str = ""
    run: CourseRun | None = None
    loan: int | None = None
    q: str = ""
    codes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Choosable:
    """One line of the list to tick."""

    code: str
    title: str
    detail: str
    ticked: bool
    part_kind: str = ""


def labelled(wanted: Wanted) -> QuerySet[Any]:
    """The rows whose labels are printed, by code: those ticked, else all that fit."""
    if wanted.codes:
        return _pool(wanted).filter(**{f"{_code_path(wanted.kind)}__in": wanted.codes})
    return _matching(wanted)


def choosable(wanted: Wanted) -> tuple[list[Choosable], int]:
    """The first rows to tick, those ticked already in front, and how many more fit the filter."""
    path = _code_path(wanted.kind)
    fitting = _matching(wanted)
    ticked = list(_pool(wanted).filter(**{f"{path}__in": wanted.codes})) if wanted.codes else []
    unticked = fitting.exclude(**{f"{path}__in": wanted.codes})
    more = list(unticked[:SHOWN])
    rows = [(row, True) for row in ticked] + [(row, False) for row in more]
    return [_choosable(wanted.kind, row, on) for row, on in rows], unticked.count() - len(more)


def _pool(wanted: Wanted) -> QuerySet[Any]:
    match wanted.kind:
        case "kit":
            kits = (
                Kit.objects.exclude(state=KitState.RETIRED)
                .select_related("kit_type")
                .order_by("code")
            )
            return _scoped(kits, wanted, "pk", "code")
        case "address" | "return":
            return _parcels(wanted)
        case "lead":
            sets = LeadSet.objects.prefetch_related("leads")
            return _scoped(_in_use(sets), wanted, "kit", "kit__code")
    return _scoped(_in_use(Part.objects.all()), wanted, "kit", "kit__code")


def _in_use(parts: QuerySet[Any]) -> QuerySet[Any]:
    return (
        parts.exclude(place__in=(Part.Place.LOST, Part.Place.RETIRED))
        .select_related("kit")
        .order_by("kind", "code")
    )


def _scoped(rows: QuerySet[Any], wanted: Wanted, kit: str, kit_code: str) -> QuerySet[Any]:
    """Those of one kit, and of the kits that are out on a run's open loans."""
    if wanted.kit:
        rows = rows.filter(**{kit_code: wanted.kit})
    if wanted.run:
        out = Loan.objects.filter(enrolment__run=wanted.run, stage__in=OPEN_STAGES)
        rows = rows.filter(**{f"{kit}__in": out.values("kit")})
    return rows


def _parcels(wanted: Wanted) -> QuerySet[Any]:
    """One loan whatever its stage, or the parcels that still have to be posted."""
    loans = Loan.objects.select_related(
        "kit__kit_type", "enrolment__student", "enrolment__run"
    ).order_by("kit__code")
    if wanted.loan is not None:
        return loans.filter(pk=wanted.loan)
    loans = loans.filter(stage__in=OPEN_STAGES if wanted.kit else TO_POST)
    if wanted.kit:
        loans = loans.filter(kit__code=wanted.kit)
    if wanted.run:
        loans = loans.filter(enrolment__run=wanted.run)
    return loans


def _matching(wanted: Wanted) -> QuerySet[Any]:
    rows, q = _pool(wanted), wanted.q
    if not q:
        return rows
    code = parse_code(q) if is_code(q) else q
    fits = Q(**{f"{_code_path(wanted.kind)}__icontains": code})
    if wanted.kind == "kit":
        fits |= Q(kit_type__name__icontains=q) | Q(note__icontains=q)
    elif wanted.kind in PARCEL_KINDS:
        fits |= Q(enrolment__student__name__icontains=q)
    else:
        fits |= Q(serial__icontains=q) | Q(kit__code__icontains=code)
    return rows.filter(fits)


def _code_path(kind: str) -> str:
    return "kit__code" if kind in PARCEL_KINDS else "code"


def _choosable(kind: str, row: Any, ticked: bool) -> Choosable:
    if kind == "kit":
        return Choosable(row.code, row.kit_type.name, "", ticked)
    if kind in PARCEL_KINDS:
        return Choosable(row.kit.code, row.enrolment.student.name, row.enrolment.run.name, ticked)
    where = f"in kit {grouped(row.kit.code)}" if row.kit else row.get_place_display()
    return Choosable(
        row.code, row.get_kind_display(), f"serial {row.serial}, {where}", ticked, row.kind
    )


def loan_texts(loan: Loan) -> Iterator[str]:
    """Every text of one loan that some paper prints: names, address, run, lines and reasons."""
    student = loan.enrolment.student
    yield from (student.name, student.street, student.city, student.region, student.postcode)
    yield from (
        loan.enrolment.run.name,
        loan.kit.kit_type.name,
        loan.kit.kit_type.instructions,
        loan.override_reason,
    )
    for row in loan.packing_lines.values_list("name", "inner_bag", "serial", "batch_number"):
        yield from row
    yield from loan.shortfalls.values_list("reason", flat=True)


def run_texts(run: CourseRun) -> Iterator[str]:
    """Names and addresses on a run's open loans, and the names of what is packed: two queries
    however many they are.
    """
    yield from (run.name, run.kit_type.name, run.kit_type.instructions)
    loans = Loan.objects.filter(enrolment__run=run, stage__in=OPEN_STAGES)
    columns = ("name", "street", "city", "region", "postcode")
    for row in loans.values_list(*(f"enrolment__student__{column}" for column in columns)):
        yield from row
    for row in run.kit_type.lines.values_list("name", "inner_bag"):
        yield from row
