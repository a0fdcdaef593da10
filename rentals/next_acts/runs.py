"""What is next with a course run, and how far it has come in words."""

from __future__ import annotations

from dataclasses import dataclass

from rentals.counts import counted

from .ways import Argument, Way


@dataclass(frozen=True)
class RunSituation:
    """How far a run has come: students who are on it, those who withdrew, and whoever has a kit for
    it; those away include the overdue.

    `roster_waits`: a roster was sent and is not saved yet.
    """

    students: int = 0
    withdrawn: int = 0
    without_kit: int = 0
    to_pack: int = 0
    to_dispatch: int = 0
    away: int = 0
    overdue: int = 0
    to_check: int = 0
    to_settle: int = 0
    roster_waits: bool = False


ASSIGN_KITS = Way("Assign kits", "rentals:run_assign", Argument.RUN)

IMPORT_ROSTER = Way("Import the roster", "rentals:run_import", Argument.RUN)

_RUN_ROWS: tuple[tuple[str, Way], ...] = (
    ("without_kit", ASSIGN_KITS),
    ("to_pack", Way("Pack", "rentals:pack", Argument.NAME_OF_RUN)),
    ("to_dispatch", Way("Dispatch", "rentals:pack", Argument.NAME_OF_RUN)),
    ("to_check", Way("Check returns", "rentals:receive", Argument.NOTHING)),
    ("overdue", Way("See what is overdue", "rentals:receive", Argument.NOTHING)),
)


def run_act(run: RunSituation) -> Way | None:
    """What is next with a run: the first thing that anybody on it waits for; None for nothing."""
    if run.roster_waits:
        return Way("Finish the roster", "rentals:roster", Argument.ROSTER)
    if not run.students:
        return IMPORT_ROSTER
    waiting = (way for count, way in _RUN_ROWS if getattr(run, count))
    return next(waiting, None)


def run_sentence(run: RunSituation) -> str:
    """How far a run has come, in one sentence."""
    if not run.students:
        return "Nobody is on this run yet."
    parts = [on_the_run(run.students, run.withdrawn)]
    parts += [f"{count} {words}" for count, words in _counted(run) if count]
    sentence = ", ".join(parts)
    return f"{sentence}."


def on_the_run(students: int, withdrawn: int) -> str:
    """Who is on a run, in words: each student once, those who withdrew apart."""
    words = counted(students, "student", "students")
    return f"{words} and {withdrawn} withdrawn" if withdrawn else words


def _counted(run: RunSituation) -> tuple[tuple[int, str], ...]:
    overdue = f" ({run.overdue} overdue)" if run.overdue else ""
    return (
        (run.without_kit, "without a kit"),
        (run.to_pack, "to pack"),
        (run.to_dispatch, "to dispatch"),
        (run.away, f"away{overdue}"),
        (run.to_check, "back to check"),
        (run.to_settle, "to settle"),
    )
