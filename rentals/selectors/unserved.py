"""Which students of a run have no kit yet, as a condition on rows, and how many they are."""

from __future__ import annotations

from django.db.models import Count, Exists, OuterRef, Q

from rentals.lifecycle import ALLOWED, Verb
from rentals.models import CourseRun, Loan
from rentals.next_acts import KitWaits
from rentals.states import LoanStage

KEPT = [stage for stage in LoanStage if stage is not LoanStage.CANCELLED]


def unserved(enrolment: str = "") -> Q:
    """Enrolments that are on their run and never got a kit for it; `enrolment` leads to them from
    other rows, such as ``enrolments__``.
    """
    kept = Loan.objects.filter(stage__in=KEPT, enrolment=OuterRef(f"{enrolment}pk"))
    on_the_run = Q(**{f"{enrolment}withdrawn_on__isnull": True, f"{enrolment}pk__isnull": False})
    # Looked up for each enrolment: the list of all that were ever served only grows.
    return on_the_run & ~Q(Exists(kept))


def with_set_aside(enrolment: str = "") -> Q:
    """Of the unserved those for whom a kit is set aside."""
    return unserved(enrolment) & Q(**{f"{enrolment}earmarks__isnull": False})


def with_one_here(enrolment: str = "") -> Q:
    """Of these those whose kit may be assigned now."""
    states = [state.value for state in ALLOWED[Verb.ASSIGNED]]
    return unserved(enrolment) & Q(**{f"{enrolment}earmarks__kit__state__in": states})


def counts_waiting() -> dict[str, Count]:
    """Counts for rows of runs: all who are `waiting` for a kit; of these the ones who have one
    `set_aside`, and whose is `set_aside_here`.
    """
    return {
        "waiting": Count("enrolments", filter=unserved("enrolments__"), distinct=True),
        "set_aside": Count("enrolments", filter=with_set_aside("enrolments__"), distinct=True),
        "set_aside_here": Count("enrolments", filter=with_one_here("enrolments__"), distinct=True),
    }


def kit_waits(run: CourseRun) -> KitWaits:
    """These counts of a run's row."""
    row = vars(run)
    return KitWaits(row["waiting"] - row["set_aside"], row["set_aside"], row["set_aside_here"])
