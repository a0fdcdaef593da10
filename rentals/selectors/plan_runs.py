"""Runs above the plan, and how many kits are taken at once."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Q, QuerySet

from rentals.counts import counted
from rentals.models import OPEN_STAGES, CourseRun, KitType, Loan
from rentals.next_acts import KitWaits, enrolment_act
from rentals.planning.day_rules import DayRules
from rentals.planning.overlap import kits_needed
from rentals.planning.plan_chart import RunBar
from rentals.planning.plan_window import PlanWindow
from rentals.selectors.next_steps import Button, button
from rentals.selectors.runs_ahead import runs_waiting
from rentals.selectors.unserved import counts_waiting, kit_waits
from rentals.states import KitState

#: Runs in the band above the kits; the rest is counted.
MOST_RUNS = 12
#: Kit types of which the page says how many are taken at once.
MOST_TYPES = 20


@dataclass(frozen=True)
class RunRow:
    """A run with the students who wait for a kit, and where they are given one."""

    run: CourseRun
    waits: KitWaits
    assign: Button | None

    @property
    def drawn(self) -> RunBar:
        """Its row in the drawing."""
        run = self.run
        return RunBar(run.name, run.get_absolute_url(), run.post_by, run.return_by)


def runs_planned(window: PlanWindow, kit_type: int | None, run: int | None) -> QuerySet[CourseRun]:
    """Runs of which a day lies in the window, in the order of posting, with `counts_waiting`."""
    runs = CourseRun.objects.filter(post_by__lt=window.end, return_by__gte=window.start)
    if kit_type is not None:
        runs = runs.filter(kit_type=kit_type)
    if run is not None:
        runs = runs.filter(pk=run)
    return runs.annotate(**counts_waiting()).order_by("post_by", "pk")


def run_row(run: CourseRun, today: date) -> RunRow:
    """A run with `counts_waiting`; one that is over assigns nothing any more."""
    waits = kit_waits(run)
    way = enrolment_act(withdrawn=False).here
    open_ = waits.to_assign and way and run.ends_on >= today
    return RunRow(run, waits, button(way, run=run) if open_ and way else None)


@dataclass(frozen=True)
class TypeNeed:
    """How many kits of a type are taken at once from today on, and how many are in use."""

    name: str
    needed: int
    have: int

    @property
    def words(self) -> str:
        """Both numbers as a sentence, with what lacks."""
        kits = counted(self.have, "kit is", "kits are")
        if self.needed > self.have:
            lack = self.needed - self.have
            return f"{self.name}: {self.needed} needed at once, {kits} in use: {lack} lack."
        return f"{self.name}: at most {self.needed} of {self.have} are taken at once."


def type_needs(rules: DayRules, today: date, kit_type: int | None = None) -> list[TypeNeed]:
    """What open loans and students who wait for a kit need at once, type by type."""
    spans: dict[int, list[tuple[date, date]]] = defaultdict(list)
    loans = Loan.objects.filter(stage__in=OPEN_STAGES).order_by("kit__kit_type")
    days = loans.values_list("kit__kit_type", "post_by", "due_on").annotate(Count("pk"))
    for of_type, post_by, due_on, number in days:
        end = rules.free_again(max(due_on, today)).day
        spans[of_type] += [(min(post_by, end), end)] * number
    for run in runs_waiting(today):
        end = rules.free_again(max(run.return_by, today)).day
        spans[run.kit_type_id] += [(min(run.post_by, end), end)] * vars(run)["waiting"]
    types = KitType.objects.filter(pk__in=spans).annotate(
        have=Count("kits", filter=~Q(kits__state=KitState.RETIRED))
    )
    if kit_type is not None:
        types = types.filter(pk=kit_type)
    return [
        TypeNeed(row.name, kits_needed(spans[row.pk]), vars(row)["have"])
        for row in types.order_by("name")[:MOST_TYPES]
    ]


#: Runs to choose from above the plan.
MOST_RUNS_OFFERED = 100


def plan_choices(window: PlanWindow) -> tuple[list[tuple[str, str]], list[tuple[str, str]]]:
    """Kit types, and runs of which a day lies in the window, to choose from."""
    types = KitType.objects.order_by("name").values_list("pk", "name")[:MOST_RUNS_OFFERED]
    runs = runs_planned(window, None, None)[:MOST_RUNS_OFFERED]
    return (
        [("", "all"), *((str(pk), name) for pk, name in types)],
        [("", "all"), *((str(run.pk), run.name) for run in runs)],
    )
