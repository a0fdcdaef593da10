"""A run's chances in words: one sentence, and from what it speaks. Pure."""

from __future__ import annotations

from datetime import date

from rentals.counts import counted
from rentals.dates import long_date
from rentals.planning.bench_chance import BenchRecord
from rentals.planning.lateness_law import LatenessLaw
from rentals.planning.run_chance import GOAL, RunChance
from rentals.planning.share_range import wilson
from rentals.planning.survival import Lifetime, SurvivalCurve

LIKELY = 0.9
"""Chance from which on a number of students is named as served."""
FEW_LOANS = 12
"""Returns below which a share is uncertain by more than a quarter: said so."""


UNIT = "\N{NO-BREAK SPACE}%"
CERTAIN = 1 - 1e-9


def percent(chance: float) -> str:
    """A chance as it is said: ``94 %``; nothing is called certain that is not."""
    if 1 - CERTAIN < chance < 0.01:
        return f"less than 1{UNIT}"
    if 0.99 < chance < CERTAIN:
        return f"more than 99{UNIT}"
    return f"{round(100 * chance)}{UNIT}"


def chance_sentence(chance: RunChance, day: date) -> str:
    """How many students will have a kit by the day, how sure that is, and what spares would add."""
    until, everybody = long_date(day), percent(chance.serve_all)
    students = counted(chance.need, "student", "students")
    everyone = f"All {students}" if chance.need > 1 else "The one student"
    safe = chance.safe_number(LIKELY)
    if chance.serve_all >= GOAL:
        return f"{everyone} will have a kit by {until} with a chance of {everybody}."
    if not 0 < safe < chance.need:
        first = f"{everyone} will have a kit by {until} with a chance of {everybody}"
    else:
        first = (
            f"{safe} of {students} will have a kit by {until} with a chance of"
            f" {percent(chance.at_least(safe))}, all {chance.need} with {everybody}"
        )
    spares, then = chance.spares, percent(chance.at_least(chance.need - chance.spares))
    make = counted(spares, "spare kit makes", "spare kits make")
    return f"{first}; {make} it {then}."


def lateness_words(law: LatenessLaw) -> str:
    """From how many loans the chances speak, and how they went."""
    ended = int((law.table.returned | law.table.lost).sum())
    if not ended:
        return (
            "No kit has come back yet, so this speaks from what is usual: half of the kits are"
            " back a day before they are due, nine of ten a week after it."
        )
    due = _back_by_due_day(law)
    loans = counted(ended, "past loan", "past loans")
    words = f"From {loans}: {due} were back by the day they were due."
    if ended < FEW_LOANS:
        words += " That is few, so what is usual elsewhere still weighs in it."
    if law.trend.is_clear:
        when = "later" if law.trend.slope < 0 else "earlier"
        words += f" Kits have come back {when} with time; the chances follow that."
    return words


def _back_by_due_day(law: LatenessLaw) -> str:
    """Share that was back by the due day, by Kaplan-Meier, with its range."""
    table = law.table
    lives = [
        Lifetime(float(last), bool(back))
        for last, back in zip(table.last, table.returned, strict=True)
    ]
    curve = SurvivalCurve(lives)
    due = float(table.last[0] - table.lateness[0])
    low, high = curve.interval(due)
    return f"{percent(1 - curve.share(due))} ({_range(1 - high, 1 - low)})"


def bench_words(record: BenchRecord) -> str:
    """How kits that came back went through check and bench."""
    if not record.rounds:
        return "No kit has been through the bench after a loan yet: four of five usually pass."
    low, high = wilson(record.passed, record.rounds)
    kits = counted(record.rounds, "kit that came back", "kits that came back")
    return (
        f"Of {kits}, {record.passed} passed the bench at once and complete"
        f" (a share of {_range(low, high)})."
    )


def _range(low: float, high: float) -> str:
    return f"{round(100 * low)} to {round(100 * high)}{UNIT}"
