"""Seasons of an invented practice, played day by day with known laws, to hold stated chances
against what comes true. Pure; nothing in here knows how the forecast is made.

A student decides on a day to post the kit, the post takes its time, the bench passes the kit or
does not. Random numbers are those of the standard library.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from rentals.planning.bench_chance import BenchRecord
from rentals.planning.lateness import PastLoan

DAWN = date(2020, 1, 6)
LOST_SHARE = 0.02


@dataclass(frozen=True)
class Habits:
    """How one practice's students are: days from the due day at which half are back, how far they
    spread, and how well kits come through the bench.
    """

    middle: float
    spread: float
    passing: float


@dataclass(frozen=True)
class LatenessMaker:
    """A law of lateness: `draw` gives days from the due day, for habits, the due day and what the
    run shares; `run_spread` is the standard deviation of that in days, `drift` how many days
    later each run is than the one before.
    """

    name: str
    draw: Callable[[Random, Habits, date], float]
    run_spread: float = 0.0
    drift: float = 0.0


def _logistic(random: Random, habits: Habits, due: date) -> float:
    share = min(max(random.random(), 1e-9), 1 - 1e-9)
    return habits.middle + habits.spread * 0.55 * math.log(share / (1 - share))


def _log_normal(random: Random, habits: Habits, due: date) -> float:
    return habits.middle - 2 * habits.spread * (1 - random.lognormvariate(0.0, 0.55))


def _heavy(random: Random, habits: Habits, due: date) -> float:
    """Student's law with two degrees of freedom: the post loses sight of a parcel for weeks."""
    tail = math.sqrt(random.gammavariate(1.0, 2.0) / 2)
    return habits.middle + 0.7 * habits.spread * random.gauss(0, 1) / max(tail, 0.02)


def _weekends(random: Random, habits: Habits, due: date) -> float:
    """Parcels are taken to the post at weekends and delivered on working days."""
    ready = due + timedelta(days=round(random.gauss(habits.middle - 4, habits.spread)))
    posted = ready + timedelta(days=(5 - ready.weekday()) % 7)
    there = posted + timedelta(days=random.choice((2, 2, 3, 4)))
    while there.weekday() > 4:
        there += timedelta(days=1)
    return (there - due).days


LAWS = (
    LatenessMaker("as fitted", _logistic),
    LatenessMaker("log-normal", _log_normal),
    LatenessMaker("heavy tail", _heavy),
    LatenessMaker("weekend lumps", _weekends),
    LatenessMaker("shared by a run", _logistic, run_spread=4.0),
    LatenessMaker("with a trend", _logistic, drift=0.8),
)


@dataclass(frozen=True)
class Season:
    """What the desk knows on a day, what it is asked, and what came true.

    `coming` are the kits that are out, with the day by which each must be back; `ready` says of
    each whether it was ready on the day. `need` students want a kit, and `shelf` kits lie here.
    """

    today: date
    loans: list[PastLoan]
    bench: BenchRecord
    coming: list[PastLoan]
    back_by: date
    need: int
    shelf: int
    ready: list[bool]
    back: list[bool]


def play(law: LatenessMaker, random: Random) -> Season:
    """One season under a law: a past of some runs, the last one coming back, the next waiting."""
    habits = Habits(random.gauss(-1, 3), random.uniform(2.5, 7), random.betavariate(9, 1.5))
    runs = random.randint(2, 12)
    due = DAWN
    loans: list[PastLoan] = []
    for number in range(runs):
        due += timedelta(days=random.randint(50, 110))
        long = random.random() < 0.4
        delay = random.gauss(0, law.run_spread) + law.drift * (number - runs / 2)
        days, students = 130 if long else 60, random.randint(5, 14)
        loans.extend(_lent(law, random, habits, number, due, days, delay) for _ in range(students))
    today = due + timedelta(days=random.randint(-12, 9))
    known = [_as_known(loan, today) for loan in loans]
    passed = sum(
        random.random() < habits.passing for loan in known if loan.ended_on and not loan.lost
    )
    returns = sum(bool(loan.ended_on and not loan.lost) for loan in known)
    still_out = [
        (loan, seen) for loan, seen in zip(loans, known, strict=True) if seen.ended_on is None
    ]
    back_by = today + timedelta(days=random.randint(2, 20))
    back = [_returns_by(loan, back_by) for loan, _ in still_out]
    ready = [there and random.random() < habits.passing for there in back]
    shelf = random.randint(0, 3)
    need = shelf + random.randint(1, max(len(still_out), 1))
    record = BenchRecord(passed, returns - passed)
    coming = [seen for _, seen in still_out]
    return Season(today, known, record, coming, back_by, need, shelf, ready, back)


def _lent(
    law: LatenessMaker,
    random: Random,
    habits: Habits,
    run: int,
    due: date,
    days: int,
    delay: float,
) -> PastLoan:
    abroad = random.random() < 0.2
    late = law.draw(random, habits, due) + delay + (3 if abroad else 0)
    posted = due - timedelta(days=days)
    lost = random.random() < LOST_SHARE
    late = random.randint(40, 80) if lost else min(max(late, -40), 400)
    return PastLoan(run, posted, due, due + timedelta(days=round(late)), lost, abroad)


def _as_known(loan: PastLoan, today: date) -> PastLoan:
    """A loan as the desk knows it in the morning of a day."""
    if loan.ended_on is not None and loan.ended_on < today:
        return loan
    return PastLoan(loan.run, loan.posted_on, loan.due_on, abroad=loan.abroad)


def _returns_by(loan: PastLoan, day: date) -> bool:
    return not loan.lost and loan.ended_on is not None and loan.ended_on <= day
