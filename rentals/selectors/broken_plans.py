"""What was agreed and cannot be had any more: a kit that comes back too late, is held or out of
use, or that the bench refused.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import F, Q, QuerySet
from django.urls import reverse

from rentals.dates import short_date
from rentals.models import Earmark, Enrolment, Loan, LoanStage, Practice
from rentals.quiet_changes import chain_ends
from rentals.selectors.contents import REFUSED
from rentals.selectors.earmarks import earmarks
from rentals.selectors.plan_days import turnaround_of
from rentals.selectors.seldom import seldom_any
from rentals.selectors.to_mend import last_words
from rentals.states import KitState

_OUT_OF_USE = (KitState.HELD, KitState.RETIRED)
_WITH_OTHERS = (LoanStage.ASSIGNED, LoanStage.PACKED, LoanStage.AWAY)


@dataclass(frozen=True)
class SetAside:
    """A kit set aside for a student. `trouble` says why it cannot be had; empty where it can."""

    earmark: Earmark
    trouble: str

    @property
    def plan_url(self) -> str:
        """Where the plan of its run is made again."""
        return plan_again(self.earmark.enrolment)


def plan_again(enrolment: Enrolment) -> str:
    """Where the plan of an enrolment's run is mended."""
    return f"{reverse('rentals:plan_assign')}?run={enrolment.run_id}"


def broken_earmarks(today: date, practice: Practice | None = None) -> QuerySet[Earmark]:
    """Earmarks that cannot be kept, the first to be posted first. The turnaround counts as plain
    days here, so that none is named that could be.
    """
    days = timedelta(days=turnaround_of(practice or Practice.current()).days)
    too_late = Q(
        kit__loans__stage__in=_WITH_OTHERS,
        kit__loans__due_on__gt=F("enrolment__run__post_by") - days,
    )
    not_back = Q(kit__loans__stage=LoanStage.AWAY, enrolment__run__post_by__lt=today + days)
    rows = earmarks().filter(Q(kit__state__in=_OUT_OF_USE) | too_late | not_back)
    return rows.distinct().defer(*chain_ends("kit"))


def refused_loans() -> QuerySet[Loan]:
    """Loans whose kit is assigned and was refused by the bench since, the first to be posted
    first.
    """
    loans = Loan.objects.filter(stage=LoanStage.ASSIGNED, kit__cleared=False)
    loans = loans.annotate(last_words=last_words("kit"))
    loans = loans.filter(last_words__startswith=REFUSED)
    loans = loans.select_related("kit", "enrolment__student", "enrolment__run")
    shown = ("kit__code", "enrolment__student__name", "enrolment__run__name")
    return loans.only(*shown, "enrolment__run__post_by").order_by("post_by", "pk")


def set_aside_rows(rows: QuerySet[Earmark], today: date) -> list[SetAside]:
    """These earmarks, each with what stands against it."""
    found = seldom_any(rows)
    if not found:
        return []
    numbers = [row.pk for row in found]
    broken = set(broken_earmarks(today).filter(pk__in=numbers).values_list("pk", flat=True))
    return [SetAside(row, trouble_of(row) if row.pk in broken else "") for row in found]


def trouble_of(row: Earmark) -> str:
    """Why a broken earmark cannot be kept, as a clause."""
    if row.kit.state in _OUT_OF_USE:
        return f"the kit is {KitState(row.kit.state).label}"
    return f"the kit is not free by {short_date(row.enrolment.run.post_by)}"
