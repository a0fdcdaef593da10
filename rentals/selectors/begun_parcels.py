"""Open packing lists that hold a line of a contents list, and how far their parcels are."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Count, Q, QuerySet

from rentals.codes import grouped
from rentals.counts import counted
from rentals.models import ContentsLine, Loan, LoanStage


@dataclass(frozen=True)
class OpenParcel:
    """A parcel that is not closed: kit, student, and how many of its lines are ticked."""

    loan_pk: int
    kit_code: str
    student: str
    ticked: int
    lines: int

    @property
    def begun(self) -> bool:
        """Whether anybody has laid something into it."""
        return self.ticked > 0

    def __str__(self) -> str:
        whose = f"{grouped(self.kit_code)}, {self.student}"
        if not self.begun:
            return whose
        return f"{whose}: {self.ticked} of {counted(self.lines, 'line', 'lines')} ticked"


def parcels_with(line: ContentsLine) -> list[OpenParcel]:
    """Every parcel that is not closed and whose packing list holds a line, by kit."""
    loans = Loan.objects.filter(
        stage=LoanStage.ASSIGNED,
        kit__kit_type=line.kit_type_id,
        pk__in=_lists_with(line),
    )
    ticked = Count("packing_lines", filter=Q(packing_lines__ticked_at__isnull=False))
    rows = loans.annotate(line_count=Count("packing_lines"), ticked_count=ticked)
    facts = ("pk", "kit__code", "enrolment__student__name", "ticked_count", "line_count")
    return [OpenParcel(*row) for row in rows.order_by("kit__code").values_list(*facts)]


def _lists_with(line: ContentsLine) -> QuerySet[Loan, int]:
    same = Loan.objects.filter(
        packing_lines__name=line.name, packing_lines__part_kind=line.part_kind
    )
    return same.values_list("pk", flat=True)
