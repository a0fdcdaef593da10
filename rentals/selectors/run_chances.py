"""The chances of coming runs: rows turned into plain values, and what comes of them into words,
bars and buttons. The queries are as many for one run as for all.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from rentals.due_dates import SOON_DAYS, due_words
from rentals.models import CourseRun, Kit, LoanStage, Practice
from rentals.next_acts import GO_TO_BENCH, sooner_way
from rentals.planning.chance_chart import ChanceChart, chance_chart
from rentals.planning.chance_words import chance_sentence, percent
from rentals.planning.known_chances import known_chance
from rentals.planning.run_chance import GOAL, ComingKit, KitChance, RunChance
from rentals.selectors.next_steps import Button, button, kit_step, loan_situation
from rentals.selectors.past_loans import OpenLoan
from rentals.selectors.run_outlook import (
    DRAWS,
    Outlook,
    StandingKit,
    coming_runs,
    outlook,
    outlook_of,
)
from rentals.states import KitState

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
        return _at_risk(self.chance)


def chances_of(run: CourseRun, today: date) -> tuple[RunForecast | None, list[str]]:
    """One run's chances, and from what they speak."""
    view = outlook(today, [run])
    return forecast(run, view), view.basis


def forecast(run: CourseRun, view: Outlook) -> RunForecast | None:
    """What a run's chances are; None where all its kits have left, or it has no students."""
    own = next((row for row in view.coming if row.pk == run.pk), None)
    if own is None:
        return None
    day = max(run.post_by, view.today)
    chance = _chance(own, day, view)
    number = {kit.code: kit.pk for kit in view.kits[run.kit_type_id]}
    worth = [
        kit
        for kit in chance.kits
        if kit.gain >= WORTH and _may_be_hurried(kit.kit, view.loans.get(number[kit.kit.code]))
    ]
    shown = [_row(kit, chance.serve_all, view) for kit in worth[:ROWS_SHOWN]]
    return RunForecast(
        run,
        day,
        _students_before(run, view),
        chance,
        chance_sentence(chance, day),
        chance_chart(chance),
        shown,
        len(worth) - len(shown),
    )


def _chance(run: CourseRun, day: date, view: Outlook, *, by_kit: bool = True) -> RunChance:
    """The chances of one of the coming runs, to be posted by a day."""
    earlier = _students_before(run, view)
    sure, coming = _standing(run, day, view)
    need = vars(run)["waiting"] + earlier
    chance = known_chance(need, sure, tuple(coming), view.lateness, view.bench, by_kit)
    return _for_run(chance, earlier)


def _at_risk(chance: RunChance) -> bool:
    return chance.serve_all < GOAL


def _may_be_hurried(kit: ComingKit, loan: OpenLoan | None) -> bool:
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
                coming.append(ComingKit(kit.code, by, loan.past, refused=refused))
            else:
                last = by if kit.state == KitState.CHECK else checked_by
                coming.append(ComingKit(kit.code, last, refused=refused))
    return sure, coming


def _kits_for(run: CourseRun, view: Outlook) -> list[StandingKit]:
    """Kits of a run's type but for those that are set aside for a run posted after it."""
    later = _posted_after(run, view)
    kits = view.kits[run.kit_type_id]
    return [kit for kit in kits if view.set_aside.get(kit.pk) not in later]


def _posted_after(run: CourseRun, view: Outlook) -> set[int]:
    order = [row.pk for row in view.coming]
    return set(order[order.index(run.pk) + 1 :])


def _is_ready(kit: StandingKit, loan: OpenLoan | None, run: CourseRun) -> bool:
    """Whether a kit may go out to the run as it is."""
    free = loan is None or not (_leaves_again(loan, run) or _has_left(loan, run))
    return free and kit.may_go_out


def _has_left(loan: OpenLoan | None, run: CourseRun) -> bool:
    """Whether a kit is away on this very run: its student is served."""
    return loan is not None and _with_this_run(loan, run) and loan.stage == LoanStage.AWAY


def _with_this_run(loan: OpenLoan, run: CourseRun) -> bool:
    return loan.run == run.pk


def _leaves_again(loan: OpenLoan, run: CourseRun) -> bool:
    """Whether the kit is out, or goes out to another run first."""
    return loan.stage != LoanStage.CHECK and not _with_this_run(loan, run)


def _row(found: KitChance, serve_all: float, view: Outlook) -> DecidingKit:
    kits, loans = view.rows
    kit = kits[found.kit.code]
    loan = loans.get(kit.pk) if found.kit.out else None
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


@dataclass(frozen=True)
class RunAtRisk:
    """A run that may lack kits, and how it stands, without its single kits."""

    run: CourseRun
    chance: RunChance
    sentence: str


def first_at_risk(today: date, until: date, practice: Practice | None = None) -> RunAtRisk | None:
    """The first of the coming runs, posted on or before a day, that may lack kits; None where there
    is none. The past is only learnt from where a run needs more kits than are ready.
    """
    coming = list(coming_runs(today))
    soon = [run for run in coming if run.post_by <= until]
    if not soon:
        return None
    practice = practice or Practice.current()
    view = outlook_of(today, practice, coming, {run.kit_type_id for run in soon}, DRAWS)
    for run in soon:
        if _kits_lack(run, view):
            day = max(run.post_by, today)
            chance = _chance(run, day, view, by_kit=False)
            if _at_risk(chance):
                return RunAtRisk(run, chance, chance_sentence(chance, day))
    return None


def _kits_lack(run: CourseRun, view: Outlook) -> bool:
    later = _posted_after(run, view)
    ready = sum(
        count
        for (set_aside, only), count in view.ready_kits[run.kit_type_id].items()
        if set_aside not in later and only in (None, run.pk)
    )
    return vars(run)["waiting"] + _students_before(run, view) > ready
