"""What the practice has set for the days of the plan."""

from __future__ import annotations

from rentals.models import Practice
from rentals.planning.calendar import Margins, Turnaround
from rentals.planning.workdays import Workdays


def turnaround_of(practice: Practice) -> Turnaround:
    """Working days from a kit's return until it may be posted again."""
    return Turnaround(
        check=practice.days_to_check,
        clean=practice.days_to_clean,
        charge=practice.days_to_charge,
        bench=practice.days_to_bench,
        restock=practice.days_to_restock,
    )


def margins_of(practice: Practice) -> Margins:
    """Working days kept free on both ends of a run."""
    return Margins(spare=practice.days_to_spare, to_send=practice.days_to_send)


def workdays_of(practice: Practice, also: str = "") -> Workdays:
    """The practice's working days; with `also`, only those that are working days there too."""
    return Workdays(str(practice.country or ""), also)
