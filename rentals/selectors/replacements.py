"""Parts sent in place of faulty ones: as rows of a loan's page and as work of the day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet

from rentals.dates import short_date
from rentals.models import Loan, LoanStage, PackingLine, Replacement
from rentals.next_acts import (
    CANCEL_REPLACEMENT,
    NextAct,
    ReplacementSituation,
    replacement_act,
)
from rentals.selectors.next_steps import Button, button
from rentals.selectors.work_lines import SHOWN, WorkGroup, WorkLine


@dataclass(frozen=True)
class ReplacementRow:
    """One replacement on its loan's page: what was sent for what, how it stands, what is next."""

    replacement: Replacement
    words: str
    steps: list[Button]


def replacement_rows(loan: Loan) -> list[ReplacementRow]:
    """The replacements of a loan, the first one first."""
    rows = loan.replacements.select_related("faulty", "part", "loan")
    return [_row(row) for row in rows]


def _row(row: Replacement) -> ReplacementRow:
    act = _act(row)
    steps = [button(act.here, replacement=row, loan=row.loan)] if act.here else []
    if not row.sent_at and not row.cancelled_at:
        steps.append(button(CANCEL_REPLACEMENT, replacement=row))
    return ReplacementRow(row, _words(row, act), steps)


def _act(row: Replacement) -> NextAct:
    return replacement_act(
        ReplacementSituation(
            away=row.loan.stage == LoanStage.AWAY,
            sent=row.sent_at is not None,
            cancelled=row.cancelled_at is not None,
            alone=row.back_by is not None,
            faulty_back=row.faulty_back_at is not None,
        )
    )


def _words(row: Replacement, act: NextAct) -> str:
    if act.reason:
        return act.reason
    if row.back_by:
        return f"The faulty one is due back by itself on {short_date(row.back_by)}."
    return "The faulty one comes back with the kit."


def lines_to_replace(loan: Loan) -> list[PackingLine]:
    """The lines of a loan that something can be sent for: not replaced yet, and a part or stock."""
    lines = loan.packing_lines.exclude(
        pk__in=Replacement.objects.filter(cancelled_at__isnull=True).values("faulty")
    )
    return list(lines.filter(Q(part__isnull=False) | Q(stock_item__isnull=False)))


def replaced_by_itself(code: str) -> Replacement | None:
    """The replacement whose faulty part, with this code, is expected back by itself."""
    rows = Replacement.objects.filter(
        faulty__part_code=code,
        back_by__isnull=False,
        faulty_back_at__isnull=True,
        cancelled_at__isnull=True,
        loan__stage=LoanStage.AWAY,
    )
    return rows.select_related("loan").first()


def replacements_today(today: date) -> WorkGroup:
    """Replacements to pack, and faulty parts that should have come back by now."""
    rows = list(_to_see_to(today)[:SHOWN])
    total = _to_see_to(today).count() if len(rows) == SHOWN else len(rows)
    return WorkGroup("Replacements", [_work_line(row) for row in rows], total)


def _to_see_to(today: date) -> QuerySet[Replacement]:
    to_pack = Q(sent_at__isnull=True)
    late = Q(back_by__lt=today, faulty_back_at__isnull=True)
    rows = Replacement.objects.filter(
        to_pack | late, cancelled_at__isnull=True, loan__stage=LoanStage.AWAY
    )
    related = ("faulty", "loan__kit", "loan__enrolment__student")
    shown = (
        *("quantity", "why", "sent_at", "cancelled_at", "back_by", "faulty_back_at"),
        *("faulty__name", "loan__stage", "loan__kit__code", "loan__enrolment__student__name"),
    )
    return rows.select_related(*related).only(*shown).order_by("asked_at", "pk")


def _work_line(row: Replacement) -> WorkLine:
    student, faulty = row.loan.enrolment.student.name, row.faulty.name
    late = row.sent_at is not None
    why = f"{student}; {faulty} was to come back by itself" if late else f"{student}; {row.why}"
    what = f"{faulty}, faulty" if late else f"{row}: replacement to pack"
    step = button(_act(row).there, replacement=row, loan=row.loan)
    return WorkLine(what, why, step.url, step.act, code=row.loan.kit.code)
