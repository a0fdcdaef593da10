"""A plan of kits as a list: what each student has now, what the plan gives, and why."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from rentals.counts import counted
from rentals.dates import short_date
from rentals.models import CourseRun, Enrolment, KitType
from rentals.planning.assigning_facts import (
    AGREED_FIRST,
    BEST_FIRST,
    ENOUGH_SLACK_DAYS,
    AssignmentPlan,
    HandOver,
    KitAhead,
    Level,
    Need,
)
from rentals.planning.assigning_words import (
    lacking_words,
    level_words,
    mend_words,
    proof_words,
    to_mend_first,
)
from rentals.planning.fit_first import FitFirst, assign_fit_first
from rentals.planning.shortage import lacking_kits, mends
from rentals.selectors.assign_plan import PlanFacts, plan_facts

LONGEST_SECONDS = 20.0
"""For one level of one kit type: whoever waits for a page does not wait longer."""


@dataclass(frozen=True)
class AssignLine:
    """One student: the kit agreed so far (empty for none), the kit of the plan, and why."""

    enrolment: Enrolment
    before: str
    after: str
    why: str
    pinned: bool
    set_aside: bool

    @property
    def changes(self) -> bool:
        """Whether accepting it does something."""
        return bool(self.after) and self.after != self.before


@dataclass(frozen=True)
class AssignList:
    """The plan of some runs: its lines, those that change something first, what it comes to, what
    lacks, what would help, and which of its kits are `to_mend` first.
    """

    facts: PlanFacts
    lines: tuple[AssignLine, ...]
    levels: tuple[str, ...]
    proof: str
    lacks: tuple[str, ...]
    mends: tuple[str, ...]
    to_mend: tuple[str, ...]
    broken_pins: tuple[str, ...]

    @property
    def changing(self) -> dict[int, str]:
        """The kit of each student to whom the plan gives another one than before."""
        return {line.enrolment.pk: line.after for line in self.lines if line.changes}


def assign_list(runs: Sequence[CourseRun], today: date, *, anew: bool) -> AssignList:
    """The best plan of these runs; `anew` lets what is agreed give way to slack, work and wear."""
    facts = plan_facts(runs, today)
    order = BEST_FIRST if anew else AGREED_FIRST
    found = plan_of(facts, order)
    plan, sure = found.plan, found.sure
    names = {pk: row.student.name for pk, row in facts.students.items()}
    short = bool(sure.unserved) or any(given.late_days for given in plan.hand_overs)
    helpful = mends(found.fit, found.needs, found.agreed, sure) if short else []
    to_mend = dict.fromkeys(to_mend_first(plan, facts.kits))
    return AssignList(
        facts,
        tuple(sorted(_lines(facts, plan), key=lambda line: not line.changes)),
        tuple(level_words(plan, facts.kits)),
        proof_words(plan),
        tuple(_lacks(found)) if short else (),
        tuple(mend_words(mend, facts.holders, names) for mend in helpful),
        tuple(f"Mend kit {code}: {facts.unfit[code]}" for code in to_mend),
        tuple(
            f"Kit {row.code} is pinned for {names[row.who]} and cannot be had in time."
            for row in plan.broken_pins
            if row.who in names
        ),
    )


def plan_of(facts: PlanFacts, order: Sequence[Level]) -> FitFirst:
    """The one rule by which kits are given to students, on whatever page."""
    given = (facts.kits, facts.needs, facts.agreed)
    return assign_fit_first(*given, order=order, seconds=LONGEST_SECONDS)


def planned_kits(run: CourseRun, today: date) -> tuple[dict[int, str], Collection[str]]:
    """The kit that the plan of one run gives each student, by its code, and those that are to be
    mended.
    """
    facts = plan_facts([run], today)
    return plan_of(facts, AGREED_FIRST).plan.kit_of(), facts.unfit


def _lacks(found: FitFirst) -> Iterator[str]:
    names = dict(KitType.objects.values_list("pk", "name"))
    for row in lacking_kits(found.fit, found.needs):
        yield lacking_words(row, names[row.kind])


def _lines(facts: PlanFacts, plan: AssignmentPlan) -> Iterator[AssignLine]:
    agreed = facts.agreed_kit()
    given = {row.who: row for row in plan.hand_overs}
    kits = {kit.code: kit for kit in facts.kits}
    needs = {need.who: need for need in facts.needs}
    for who, enrolment in facts.students.items():
        now, new = agreed.get(who), given.get(who)
        before, after = now.code if now else "", new.code if new else ""
        reasons = [_gone(facts, kits.get(before), before, needs[who])] if before != after else []
        reasons += list(_had(facts, kits[after], new)) if new else ["no kit is free in time"]
        why = "; ".join(reason for reason in reasons if reason)
        pinned = now is not None and now.pinned
        yield AssignLine(
            enrolment, before, after, why, pinned, bool(before and who not in facts.loans)
        )


def _gone(facts: PlanFacts, kit: KitAhead | None, code: str, need: Need) -> str:
    """Why a student does not keep a kit; empty for who had none."""
    if not code:
        return ""
    if kit is None:
        return f"{code} is held or out of use"
    if code in facts.unfit:
        return f"{code} is to be mended first"
    if kit.free_on > need.post_by:
        return f"{code} is free on {short_date(kit.free_on)} at the earliest"
    return f"{code} serves more elsewhere"


def _had(facts: PlanFacts, kit: KitAhead, given: HandOver) -> Iterator[str]:
    """How the kit of the plan is had."""
    if kit.comes_back:
        holder = facts.holders.get(kit.code, "a student")
        yield f"comes back from {holder}, free on {short_date(kit.free_on)}"
    elif kit.to_mend:
        yield f"here; to be mended first: {facts.unfit[kit.code].rstrip('.')}"
    else:
        yield "here; to be tested" if kit.to_do else "here and cleared"
    if given.late_days:
        days = counted(given.late_days, "day", "days")
        yield f"handed over {days} late, on {short_date(given.on)}"
    elif given.slack_days is not None and given.slack_days < ENOUGH_SLACK_DAYS:
        yield f"that return may be {counted(given.slack_days, 'day', 'days')} late"
    yield f"lent {counted(kit.loans, 'time', 'times')}" if kit.loans else "never lent yet"
