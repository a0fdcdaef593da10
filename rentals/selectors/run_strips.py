"""How far course runs have come: each student of a run once, by how far the loan is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Case, Count, IntegerField, OuterRef, Q, QuerySet, Subquery, When

from rentals.counts import counted
from rentals.due_dates import SOON_DAYS
from rentals.marks import Mark, Sign, mark_of
from rentals.models import OPEN_STAGES, CourseRun, Enrolment, Loan, LoanStage
from rentals.selectors.kept_answers import KeptAnswers

RUNS_SHOWN = 6
#: Of the drawing.
WIDTH, HEIGHT = 100.0, 8.0


@dataclass(frozen=True)
class StripStep:
    """One step of a run's way. Its segment is filled between two eighths of its height, counted
    from the top, so that the steps are told apart in black and white.
    """

    state: Sign | LoanStage
    word: str
    stages: tuple[LoanStage | str | None, ...]
    fill_from: float
    fill_to: float


SET_ASIDE = "set aside"
"""In place of a loan's stage: no loan yet, but a kit set aside."""
#: A kit fills the strip on its way out, from below, and empties it on its way back.
STEPS = (
    StripStep(Sign.UNASSIGNED, "without a kit", (None,), 8, 8),
    StripStep(Sign.UNASSIGNED, "with a kit set aside", (SET_ASIDE,), 7, 8),
    StripStep(LoanStage.ASSIGNED, "assigned", (LoanStage.ASSIGNED,), 6, 8),
    StripStep(LoanStage.PACKED, "packed", (LoanStage.PACKED,), 3, 8),
    StripStep(LoanStage.AWAY, "away", (LoanStage.AWAY,), 0, 8),
    StripStep(LoanStage.RETURNED, "back", (LoanStage.CHECK, LoanStage.RETURNED), 0, 4),
    StripStep(LoanStage.LOST, "kit lost", (LoanStage.LOST,), 3, 5),
    StripStep(LoanStage.SETTLED, "settled", (LoanStage.SETTLED,), 0, 1.5),
)


@dataclass(frozen=True)
class StripSegment:
    """How many students of a run are at one step: the mark that says it, and the SVG paths of
    its fill and its frame.
    """

    count: int
    mark: Mark
    fill: str
    frame: str


@dataclass(frozen=True)
class RunStrip:
    """All students of a run along its way; their counts add up to `students`. Those who withdrew
    stand apart, and of them those who still hold a kit.
    """

    students: int
    segments: tuple[StripSegment, ...]
    withdrawn: int = 0
    withdrawn_with_kit: int = 0

    @property
    def words(self) -> str:
        """How many students, and who is not among them."""
        students = counted(self.students, "student", "students")
        apart = self.withdrawn_with_kit
        return f"{students}, {apart} withdrawn with a kit" if apart else students


def strips_of(runs: Iterable[CourseRun], answers: KeptAnswers | None = None) -> dict[int, RunStrip]:
    """The strips of runs by their numbers, in one query for all of them; kept while nothing changes
    them.
    """
    numbers = tuple(run.pk for run in runs)
    answers = answers or KeptAnswers()
    return answers.of((strips_of.__name__, numbers), lambda: _strips_of(numbers))


def _strips_of(numbers: Sequence[int]) -> dict[int, RunStrip]:
    on: dict[int, Counter[str | None]] = {number: Counter() for number in numbers}
    withdrawn: Counter[int] = Counter()
    apart: Counter[int] = Counter()
    for run, left, stage, marked, count in _counts(numbers):
        if not left:
            on[run][SET_ASIDE if marked and stage is None else stage] += count
            continue
        withdrawn[run] += count
        if stage in OPEN_STAGES:
            apart[run] += count
    return {number: _strip(on[number], withdrawn[number], apart[number]) for number in numbers}


def _counts(numbers: Sequence[int]) -> Iterable[tuple[int, bool, str | None, bool, int]]:
    """Run, whether withdrawn, stage of the loan that matters (the open one, else the newest),
    whether a kit is set aside, and how many.
    """
    is_open = Case(When(stage__in=OPEN_STAGES, then=0), default=1, output_field=IntegerField())
    loans = Loan.objects.filter(enrolment=OuterRef("pk")).exclude(stage=LoanStage.CANCELLED)
    newest = loans.order_by(is_open, "-assigned_at", "-pk").values("stage")[:1]
    rows = (
        Enrolment.objects.filter(run__in=numbers)
        .annotate(
            left=Q(withdrawn_on__isnull=False),
            loan_stage=Subquery(newest),
            marked=Q(earmarks__isnull=False),
        )
        .values_list("run", "left", "loan_stage", "marked")
        .annotate(students=Count("pk"))
        .order_by()
    )
    return rows


def _strip(stages: Counter[str | None], withdrawn: int, apart: int) -> RunStrip:
    students = sum(stages.values())
    segments, x = [], 0.0
    for step in STEPS:
        count = sum(stages[stage] for stage in step.stages)
        if count:
            width = WIDTH * count / students
            segments.append(_segment(step, count, x, width))
            x += width
    return RunStrip(students, tuple(segments), withdrawn, apart)


def _segment(step: StripStep, count: int, x: float, width: float) -> StripSegment:
    return StripSegment(
        count,
        mark_of(step.state, f"{count} {step.word}"),
        fill=_box(x, width, step.fill_from, step.fill_to),
        frame=_box(x, width, 0, HEIGHT),
    )


def _box(x: float, width: float, top: float, bottom: float) -> str:
    return f"M{x:.2f} {top:g}h{width:.2f}V{bottom:g}h-{width:.2f}Z"


def strips_under_way(today: date, answers: KeptAnswers) -> list[tuple[CourseRun, RunStrip]]:
    """The first of the runs under way, with their strips."""

    def find() -> list[tuple[CourseRun, RunStrip]]:
        runs = list(runs_under_way(today)[:RUNS_SHOWN])
        strips = strips_of(runs, answers)
        return [(run, strips[run.pk]) for run in runs]

    return answers.of((strips_under_way.__name__, today), find)


def runs_under_way(today: date) -> QuerySet[CourseRun]:
    """Runs with a kit out of the shelf, and those to be posted soon, in the order of posting."""
    begun = Loan.objects.filter(stage__in=OPEN_STAGES).order_by().values("enrolment__run")
    soon = Q(post_by__lte=today + timedelta(days=SOON_DAYS), ends_on__gte=today)
    # Without a join: that would read all students and loans of all runs there ever were.
    return CourseRun.objects.filter(Q(pk__in=begun) | soon).order_by("post_by", "pk")
