"""What is next with a course run, and how far it has come in words."""

from __future__ import annotations

from dataclasses import dataclass

from rentals.counts import counted

from .ways import Argument, Way


@dataclass(frozen=True)
class KitWaits:
    """Students of a run who wait for a kit: those without one, those for whom one is set aside, and
    of these the ones whose kit may be assigned now.
    """

    without_kit: int
    set_aside: int = 0
    set_aside_here: int = 0

    @property
    def to_assign(self) -> bool:
        """Whether there is something to do: who has a kit set aside that is away only waits."""
        return bool(self.without_kit or self.set_aside_here)

    @property
    def words(self) -> str:
        """``5 students have a kit set aside, 2 students without a kit``; empty for nobody."""
        sentences = []
        if self.set_aside:
            students = counted(self.set_aside, "student has", "students have")
            sentences.append(f"{students} a kit set aside")
        if self.without_kit:
            students = counted(self.without_kit, "student", "students")
            sentences.append(f"{students} without a kit")
        return ", ".join(sentences)


@dataclass(frozen=True)
class RunSituation:
    """How far a run has come: students who are on it, those who withdrew, and whoever has a kit for
    it; those away include the overdue. Who has a kit `set_aside` is not `without_kit`; of these
    `set_aside_here` may be assigned theirs now.

    `roster_waits`: a roster was sent and is not saved yet.
    """

    students: int = 0
    withdrawn: int = 0
    without_kit: int = 0
    set_aside: int = 0
    set_aside_here: int = 0
    to_pack: int = 0
    to_dispatch: int = 0
    away: int = 0
    overdue: int = 0
    to_check: int = 0
    to_settle: int = 0
    roster_waits: bool = False

    @property
    def waiting(self) -> int:
        """All who have no kit in their name yet."""
        return self.without_kit + self.set_aside


ASSIGN_KITS = Way("Assign kits", "rentals:run_assign", Argument.RUN)

IMPORT_ROSTER = Way("Import the roster", "rentals:run_import", Argument.RUN)

_RUN_ROWS: tuple[tuple[str, Way], ...] = (
    ("without_kit", ASSIGN_KITS),
    ("set_aside_here", ASSIGN_KITS),
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
        (run.set_aside, "with a kit set aside"),
        (run.to_pack, "to pack"),
        (run.to_dispatch, "to dispatch"),
        (run.away, f"away{overdue}"),
        (run.to_check, "back to check"),
        (run.to_settle, "to settle"),
    )
