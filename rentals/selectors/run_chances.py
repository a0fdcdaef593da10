"""The chances of coming runs: rows turned into plain values, and what comes of them into words,
bars and buttons. The queries are as many for one run as for all.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from copy import deepcopy
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

import numpy as np
from django.db.models import Count, Q, QuerySet
from django.utils import timezone

from rentals.due_dates import SOON_DAYS, due_words
from rentals.models import OPEN_STAGES, CourseRun, Earmark, Kit, Loan, LoanStage, Practice
from rentals.next_acts import GO_TO_BENCH, sooner_way
from rentals.planning.back_in_time import bench_only, last_day_back
from rentals.planning.bench_chance import BenchRecord
from rentals.planning.chance_chart import ChanceChart, chance_chart
from rentals.planning.chance_words import bench_words, chance_sentence, lateness_words, percent
from rentals.planning.lateness_law import LatenessLaw, learn_lateness
from rentals.planning.run_chance import GOAL, ComingKit, KitChance, RunChance, run_chance
from rentals.planning.workdays import Workdays
from rentals.selectors.next_steps import Button, button, kit_step, loan_situation
from rentals.selectors.past_loans import as_past_loan, fleet_record, past_loans, with_places
from rentals.selectors.plan_days import turnaround_of
from rentals.selectors.to_mend import kits_to_mend
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
    """What holds for all runs on a day: where every kit is, and what the past says, which is learnt
    when first asked for. `coming` are the runs that take kits of these types.
    """

    today: date
    practice: Practice
    draws: int
    coming: list[CourseRun]
    kits: dict[int, list[Kit]]
    loans: dict[int, Loan]
    set_aside: dict[int, int]
    """Runs that kits are set aside for, by the kit."""

    @cached_property
    def lateness(self) -> LatenessLaw:
        """What past loans say of how late kits come back."""
        rng = np.random.default_rng(SEED)
        return learn_lateness(past_loans(self.practice), self.today, rng, self.draws)

    def lateness_of_a_run(self) -> LatenessLaw:
        """The same law with its draws from the start, so that a run's chances are the same on every
        page, whichever runs were seen before it.
        """
        return deepcopy(self.lateness)

    @cached_property
    def bench(self) -> BenchRecord:
        """How kits went through check and bench."""
        return fleet_record(timezone.now())

    @cached_property
    def to_mend(self) -> dict[str, str]:
        """Kits that are to be mended first, by their code, with what is to be done."""
        return kits_to_mend(self.kits)

    @property
    def basis(self) -> list[str]:
        """From what the chances speak, in sentences."""
        return [lateness_words(self.lateness), bench_words(self.bench)]

    def last_days_back(self, day: date) -> tuple[date | None, date | None]:
        """The last day on which a kit may come back, and be checked, to be ready on a day; None
        for one that is past.
        """
        workdays = Workdays(str(self.practice.country or ""))
        turnaround = turnaround_of(self.practice)
        last = (
            last_day_back(day, turnaround, workdays),
            last_day_back(day, bench_only(turnaround), workdays),
        )
        back, checked = (by if by >= self.today else None for by in last)
        return back, checked


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
    """See where the kits of these runs' types are."""
    types = {run.kit_type_id for run in runs}
    coming = list(coming_runs(today).filter(kit_type__in=types))
    return _outlook(today, Practice.current(), coming, types, draws)


def _outlook(
    today: date, practice: Practice, coming: list[CourseRun], types: set[int], draws: int
) -> Outlook:
    kits: dict[int, list[Kit]] = defaultdict(list)
    for kit in _kits_of(types):
        kits[kit.kit_type_id].append(kit)
    count = sum(map(len, kits.values()))
    open_loans = Loan.objects.filter(stage__in=OPEN_STAGES, kit__kit_type__in=types)
    loans = {loan.kit_id: loan for loan in with_places(open_loans)}
    set_aside = dict(
        Earmark.objects.filter(kit__kit_type__in=types).values_list("kit", "enrolment__run")
    )
    draws = FEW_DRAWS if count > MANY_KITS else draws
    return Outlook(today, practice, draws, coming, kits, loans, set_aside)


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
        run_chance(need + earlier, sure, coming, view.lateness_of_a_run(), view.bench),
        earlier,
    )
    by_code = {kit.code: kit for kit in view.kits[run.kit_type_id]}
    worth = [
        kit
        for kit in chance.kits
        if kit.gain >= WORTH and _may_be_hurried(kit.kit, view.loans.get(by_code[kit.kit.code].pk))
    ]
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


def _may_be_hurried(kit: ComingKit, loan: Loan | None) -> bool:
    """Whether there is an act for a kit: it is here, or somebody may fairly be asked for it, which
    is not so weeks before it is due.
    """
    if kit.out is None or kit.back_by is None or loan is None:
        return kit.out is None
    fair = kit.back_by + timedelta(days=SOON_DAYS)
    return loan.stage == LoanStage.AWAY and kit.out.due_on <= fair


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
    by, checked_by = view.last_days_back(day)
    sure, coming = 0, []
    for kit in _kits_for(run, view):
        loan = view.loans.get(kit.pk)
        if _is_ready(kit, loan, run):
            sure += 1
        elif kit.state != KitState.HELD and not _has_left(loan, run):
            refused = kit.code in view.to_mend
            if loan and _leaves_again(loan, run):
                past = as_past_loan(loan, view.practice)
                coming.append(ComingKit(kit.code, by, past, refused=refused))
            else:
                last = by if kit.state == KitState.CHECK else checked_by
                coming.append(ComingKit(kit.code, last, refused=refused))
    return sure, coming


def _kits_for(run: CourseRun, view: Outlook) -> list[Kit]:
    """Kits of a run's type but for those that are set aside for a run posted after it."""
    order = [row.pk for row in view.coming]
    later = set(order[order.index(run.pk) + 1 :])
    kits = view.kits[run.kit_type_id]
    return [kit for kit in kits if view.set_aside.get(kit.pk) not in later]


def _is_ready(kit: Kit, loan: Loan | None, run: CourseRun) -> bool:
    """Whether a kit may go out to the run as it is."""
    free = loan is None or not (_leaves_again(loan, run) or _has_left(loan, run))
    return free and kit.state != KitState.HELD and (kit.cleared or kit.override_reason != "")


def _has_left(loan: Loan | None, run: CourseRun) -> bool:
    """Whether a kit is away on this very run: its student is served."""
    return loan is not None and _with_this_run(loan, run) and loan.stage == LoanStage.AWAY


def _with_this_run(loan: Loan, run: CourseRun) -> bool:
    return loan.enrolment.run_id == run.pk


def _leaves_again(loan: Loan, run: CourseRun) -> bool:
    """Whether the kit is out, or goes out to another run first."""
    return loan.stage != LoanStage.CHECK and not _with_this_run(loan, run)


def _row(found: KitChance, kit: Kit, serve_all: float, view: Outlook) -> DecidingKit:
    loan = view.loans.get(kit.pk) if found.kit.out else None
    if loan is None:
        way = GO_TO_BENCH if kit.state != KitState.CHECK else kit_step(kit).there
        next_step, who = button(way, kit=kit), ""
        note = "to be mended first" if kit.code in view.to_mend else ""
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


def first_at_risk(today: date, until: date, practice: Practice | None = None) -> RunForecast | None:
    """The first of the coming runs, posted on or before a day, that may lack kits; None where there
    is none. The past is only learnt from where a run needs more kits than are ready.
    """
    coming = list(coming_runs(today))
    soon = [run for run in coming if run.post_by <= until]
    if not soon:
        return None
    practice = practice or Practice.current()
    view = _outlook(today, practice, coming, {run.kit_type_id for run in soon}, DRAWS)
    found = (forecast(run, view) for run in soon if _kits_lack(run, view))
    return next((row for row in found if row is not None and row.at_risk), None)


def _kits_lack(run: CourseRun, view: Outlook) -> bool:
    kits = _kits_for(run, view)
    ready = sum(_is_ready(kit, view.loans.get(kit.pk), run) for kit in kits)
    return vars(run)["waiting"] + _students_before(run, view) > ready
