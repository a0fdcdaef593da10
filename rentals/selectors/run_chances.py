"""The chances of coming runs: rows turned into plain values, and what comes of them into words,
bars and buttons. The queries are as many for one run as for all.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

import numpy as np
from django.db.models import Count, Q, QuerySet
from django.utils import timezone

from rentals.due_dates import due_words
from rentals.models import OPEN_STAGES, CourseRun, Kit, Loan, LoanStage, Practice
from rentals.next_acts import GO_TO_BENCH, sooner_way
from rentals.planning.back_in_time import bench_only, last_day_back
from rentals.planning.bench_record import BenchHistory
from rentals.planning.calendar import Turnaround
from rentals.planning.chance_chart import ChanceChart, chance_chart
from rentals.planning.chance_words import bench_words, chance_sentence, lateness_words, percent
from rentals.planning.lateness_law import LatenessLaw, learn_lateness
from rentals.planning.run_chance import GOAL, ComingKit, KitChance, RunChance, run_chance
from rentals.planning.workdays import Workdays
from rentals.selectors.next_steps import Button, button, kit_step, loan_situation
from rentals.selectors.past_loans import as_past_loan, fleet_history, past_loans, with_places
from rentals.selectors.plan_days import turnaround_of, workdays_of
from rentals.selectors.unserved import unserved
from rentals.states import KitState

DRAWS, FEW_DRAWS = 400, 80
MANY_KITS = 200
"""Coming kits from which on fewer draws do: with so many, chances are hardly open."""
SEED = 2027
"""The same rows give the same chances, whoever looks."""
ROWS_SHOWN = 8
WORTH = 0.005
"""A rise of the chance below half a percent is not worth a line."""


@dataclass(frozen=True)
class DecidingKit:
    """A kit on the list of those that matter: who has it, its chances, and the act. `note` is when
    it is due, or what is wrong with it; `then` the chance to serve all if it is sure.
    """

    kit: Kit
    who: str
    note: str
    back: str
    ready: str
    then: str
    next: Button


@dataclass(frozen=True)
class RunForecast:
    """All that a page shows of a run's chances. `earlier` counts students of runs posted before
    it, who take kits first; `day` is the day by which kits must be posted.
    """

    run: CourseRun
    day: date
    earlier: int
    chance: RunChance
    sentence: str
    chart: ChanceChart
    kits: list[DecidingKit]
    more: int

    @property
    def at_risk(self) -> bool:
        return self.chance.serve_all < GOAL


@dataclass
class Outlook:
    """What holds for all runs on a day: what the past says, and where every kit is."""

    today: date
    practice: Practice
    draws: int
    bench: BenchHistory
    turnaround: Turnaround
    workdays: Workdays
    kits: dict[int, list[Kit]] = field(default_factory=lambda: defaultdict(list))
    loans: dict[int, Loan] = field(default_factory=dict)
    coming: list[CourseRun] = field(default_factory=list)

    @cached_property
    def lateness(self) -> LatenessLaw:
        """What past loans say; learnt when first asked for."""
        rng = np.random.default_rng(SEED)
        return learn_lateness(past_loans(self.practice), self.today, rng, self.draws)

    @property
    def basis(self) -> list[str]:
        """From what the chances speak, in sentences."""
        return [lateness_words(self.lateness), bench_words(self.bench.record)]


def coming_runs(today: date) -> QuerySet[CourseRun]:
    """Runs that are not over and have students whose kit has not left, counted as `waiting`; of
    these `without_kit` have none yet. The first to be posted comes first.
    """
    here = (LoanStage.ASSIGNED, LoanStage.PACKED)
    parcel_here = Q(enrolments__loans__stage__in=here, enrolments__withdrawn_on__isnull=True)
    none = unserved("enrolments__")
    runs = CourseRun.objects.filter(ends_on__gte=today).annotate(
        waiting=Count("enrolments", filter=none | parcel_here, distinct=True),
        without_kit=Count("enrolments", filter=none, distinct=True),
    )
    return runs.filter(waiting__gt=0).select_related("kit_type").order_by("post_by", "pk")


def chances_of(run: CourseRun, today: date) -> tuple[RunForecast | None, list[str]]:
    """One run's chances, and from what they speak."""
    view = outlook(today, [run])
    return forecast(run, view), view.basis


def outlook(today: date, runs: Iterable[CourseRun], draws: int = DRAWS) -> Outlook:
    """Learn from the past, and see where the kits of these runs' types are."""
    practice = Practice.current()
    types = {run.kit_type_id for run in runs}
    kits = list(_kits_of(types))
    view = Outlook(
        today,
        practice,
        FEW_DRAWS if len(kits) > MANY_KITS else draws,
        fleet_history(timezone.now()),
        turnaround_of(practice),
        workdays_of(practice),
        coming=list(coming_runs(today).filter(kit_type__in=types)),
    )
    for kit in kits:
        view.kits[kit.kit_type_id].append(kit)
    open_loans = Loan.objects.filter(stage__in=OPEN_STAGES, kit__kit_type__in=types)
    view.loans = {loan.kit_id: loan for loan in with_places(open_loans)}
    return view


def _kits_of(types: set[int]) -> QuerySet[Kit]:
    """Kits of some types with what tells where they stand, and no more: there may be thousands."""
    kits = Kit.objects.filter(kit_type__in=types).exclude(state=KitState.RETIRED)
    facts = ("code", "state", "cleared", "override_reason", "not_cleared_reason", "hold_reason")
    return kits.only("kit_type_id", *facts).order_by("code")


def forecast(run: CourseRun, view: Outlook) -> RunForecast | None:
    """What a run's chances are; None where all its kits have left, or it has no students."""
    own = next((row for row in view.coming if row.pk == run.pk), None)
    if own is None:
        return None
    earlier = _students_before(run, view)
    day = max(run.post_by, view.today)
    sure, coming = _standing(run, day, view)
    need = vars(own)["waiting"]
    chance = _for_run(
        run_chance(need + earlier, sure, coming, view.lateness, view.bench.record), earlier
    )
    worth = [kit for kit in chance.kits if kit.gain >= WORTH]
    by_code = {kit.code: kit for kit in view.kits[run.kit_type_id]}
    shown = [_row(kit, by_code[kit.kit.code], chance.serve_all, view) for kit in worth[:ROWS_SHOWN]]
    return RunForecast(
        run,
        day,
        earlier,
        chance,
        chance_sentence(chance, day),
        chance_chart(chance),
        shown,
        len(worth) - len(shown),
    )


def _students_before(run: CourseRun, view: Outlook) -> int:
    """Students without a kit on runs of the same kit type that are posted before this one."""
    return sum(
        vars(row)["without_kit"]
        for row in view.coming
        if row.kit_type_id == run.kit_type_id and (row.post_by, row.pk) < (run.post_by, run.pk)
    )


def _for_run(chance: RunChance, earlier: int) -> RunChance:
    """The law of the kits that are left once earlier runs have taken theirs."""
    if not earlier:
        return chance
    law = (sum(chance.law[: earlier + 1]), *chance.law[earlier + 1 :])
    return RunChance(chance.need - earlier, max(chance.sure - earlier, 0), law, chance.kits)


def _standing(run: CourseRun, day: date, view: Outlook) -> tuple[int, list[ComingKit]]:
    """How many kits are ready, and which still have a way to go."""
    by = last_day_back(day, view.turnaround, view.workdays)
    checked_by = last_day_back(day, bench_only(view.turnaround), view.workdays)
    sure, coming = 0, []
    for kit in view.kits[run.kit_type_id]:
        loan = view.loans.get(kit.pk)
        state = KitState(kit.state)
        if state is KitState.HELD or (loan and _with_this_run(loan, run) and _is_out(loan)):
            continue
        if loan and _leaves_again(loan, run):
            out = as_past_loan(loan, view.practice)
            coming.append(ComingKit(kit.code, _in_time(by, view.today), out))
        elif kit.cleared or kit.override_reason:
            sure += 1
        else:
            last = _in_time(by if state is KitState.CHECK else checked_by, view.today)
            coming.append(ComingKit(kit.code, last, refused=kit.pk in view.bench.wanting))
    return sure, coming


def _in_time(last: date, today: date) -> date | None:
    return last if last >= today else None


def _with_this_run(loan: Loan, run: CourseRun) -> bool:
    return loan.enrolment.run_id == run.pk


def _is_out(loan: Loan) -> bool:
    return loan.stage == LoanStage.AWAY


def _leaves_again(loan: Loan, run: CourseRun) -> bool:
    """Whether the kit is out, or goes out to another run first."""
    return loan.stage != LoanStage.CHECK and not _with_this_run(loan, run)


def _row(found: KitChance, kit: Kit, serve_all: float, view: Outlook) -> DecidingKit:
    loan = view.loans.get(kit.pk) if found.kit.out else None
    if loan is None:
        way = GO_TO_BENCH if kit.state != KitState.CHECK else kit_step(kit).there
        wanting = kit.pk in view.bench.wanting
        next_step, who = button(way, kit=kit), ""
        note = "found wanting, to be mended first" if wanting else ""
    else:
        loan.kit = kit
        next_step = button(sooner_way(loan_situation(loan, view.today)), kit=kit, loan=loan)
        who, note = loan.enrolment.student.name, due_words(loan.due_on, view.today)
    return DecidingKit(
        kit,
        who,
        note,
        percent(found.back) if loan else "here",
        percent(found.ready),
        percent(serve_all + found.gain),
        next_step,
    )


def first_at_risk(today: date, runs: QuerySet[CourseRun]) -> RunForecast | None:
    """The first of these coming runs that may lack kits; None where there is none.

    The past is only learnt from where a run needs more kits than are ready.
    """
    if not runs:
        return None
    view = outlook(today, runs, FEW_DRAWS)
    lacking = (run for run in runs if _kits_lack(run, view))
    found = (forecast(run, view) for run in lacking)
    return next((row for row in found if row is not None and row.at_risk), None)


def _kits_lack(run: CourseRun, view: Outlook) -> bool:
    sure, _ = _standing(run, max(run.post_by, view.today), view)
    return vars(run)["waiting"] + _students_before(run, view) > sure
