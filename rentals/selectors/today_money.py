"""Today's lines of money: refunds due, and payments overdue."""

from __future__ import annotations

from datetime import date

from django.urls import reverse

from rentals.dates import short_date
from rentals.models import Practice
from rentals.planning.money import money_text
from rentals.planning.owed import Debtor
from rentals.selectors.owed import OwedRow, dues
from rentals.selectors.work_lines import SHOWN, WorkGroup, WorkLine


def money_owed(today: date, practice: Practice) -> list[WorkGroup]:
    """What we owe students, and what students have not paid in time."""
    lists = {who: f"{reverse('rentals:money')}?who={who}" for who in Debtor}
    return [
        WorkGroup(due.title, [_money_line(row) for row in due.rows], due.total, lists[due.debtor])
        for due in dues(today, practice, SHOWN)
    ]


def _money_line(row: OwedRow) -> WorkLine:
    debt, enrolment = row.debt, row.loan.enrolment
    why = f"{debt.why}, since {short_date(debt.since)}; {enrolment.run.name}"
    what = f"{enrolment.student.name}: {money_text(debt.amount, debt.currency)}"
    return WorkLine(what, why, row.next.url, row.next.act, code=row.loan.kit.code)
