"""The last day on which a kit may come back to be ready on the day a run is posted. Pure."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from rentals.planning.calendar import Turnaround, free_again
from rentals.planning.workdays import Workdays


def last_day_back(post_by: date, turnaround: Turnaround, workdays: Workdays) -> date:
    """The last day from which the turnaround still ends on or before `post_by`."""
    day = post_by
    while free_again(day, turnaround, workdays).day > post_by:
        day -= timedelta(days=1)
    return day


def bench_only(turnaround: Turnaround) -> Turnaround:
    """What is left of a turnaround once the kit is checked, cleaned and charged."""
    return replace(turnaround, check=0, clean=0, charge=0)
