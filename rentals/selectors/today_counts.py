"""How much work of some sorts there is, counted for several lists at once."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Q

from rentals.models import OPEN_STAGES, Loan, LoanStage, Message
from rentals.selectors.overdue import overdue_on
from rentals.states import MessageState

_MAIL_TO_SEE_TO = (MessageState.DRAFT, MessageState.FAILED, MessageState.UNCERTAIN)


@dataclass(frozen=True)
class LoanCounts:
    """Open loans: those back to be checked, overdue, packed, and still to be packed."""

    to_check: int
    overdue: int
    packed: int
    to_pack: int


def loan_counts(today: date) -> LoanCounts:
    """The open loans by what is to be done with them; one query."""
    wanted = {
        "to_check": Q(stage=LoanStage.CHECK),
        "overdue": overdue_on(today),
        "packed": Q(stage=LoanStage.PACKED),
        "to_pack": Q(stage=LoanStage.ASSIGNED),
    }
    counts = {name: Count("pk", filter=which) for name, which in wanted.items()}
    return LoanCounts(**Loan.objects.filter(stage__in=OPEN_STAGES).aggregate(**counts))


def mail_counts() -> Counter[str]:
    """Mails that the owner must see to, by their state; one query."""
    mails = Message.objects.filter(state__in=_MAIL_TO_SEE_TO).order_by()
    return Counter(dict(mails.values_list("state").annotate(Count("pk"))))
