"""What the practice has set reaches the plan."""

from rentals.models import Practice
from rentals.planning.calendar import Margins, Turnaround
from rentals.planning.workdays import Workdays
from rentals.selectors.plan_days import margins_of, turnaround_of, workdays_of


def test_the_practice_sets_turnaround_margins_and_working_days() -> None:
    practice = Practice(
        country="SE",
        days_to_spare=2,
        days_to_send=3,
        days_to_check=1,
        days_to_clean=2,
        days_to_charge=3,
        days_to_bench=4,
        days_to_restock=5,
    )
    assert turnaround_of(practice) == Turnaround(1, 2, 3, 4, 5)
    assert margins_of(practice) == Margins(spare=2, to_send=3)
    assert workdays_of(practice, "FI") == Workdays("SE", "FI")


def test_a_new_practice_counts_as_the_plan_does_by_itself() -> None:
    assert turnaround_of(Practice()) == Turnaround()
    assert margins_of(Practice()) == Margins()
