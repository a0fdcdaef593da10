"""What a plan comes to, and what would mend it, in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta

from rentals.counts import counted
from rentals.dates import short_date

from .assigning import loans_after
from .assigning_facts import ENOUGH_SLACK_DAYS, AssignmentPlan, KitAhead, Level
from .shortage import LackingKits, Mend, MendWay


def level_words(plan: AssignmentPlan, kits: Sequence[KitAhead]) -> list[str]:
    """One sentence for each level, in the order in which they were made small."""
    words = {
        Level.UNSERVED: _unserved(plan, kits),
        Level.LATE: _late(plan),
        Level.SLACK: _slack(plan),
        Level.TO_DO: _to_do(plan, kits),
        Level.WEAR: _wear(plan, kits),
        Level.CHANGES: _changes(plan),
    }
    return [words[row.level] for row in plan.levels if row.level in words]


def proof_words(plan: AssignmentPlan) -> str:
    """Whether a better plan can be."""
    if plan.proven:
        return (
            "This is the best plan there is. The lines count in this order: no other plan does"
            " better in one of them without doing worse in one above it."
        )
    return "There may be a better plan: the time was up before all of them were looked at."


def _unserved(plan: AssignmentPlan, kits: Iterable[KitAhead]) -> str:
    number, later = plan.value(Level.UNSERVED), len(to_mend_first(plan, kits))
    sentences = []
    if number:
        sentences.append(f"{counted(number, 'student has', 'students have')} no kit.")
    if later:
        students = counted(later, "student has", "students have")
        sentences.append(f"{students} a kit only once it is mended.")
    return " ".join(sentences) or "Everybody has a kit."


def to_mend_first(plan: AssignmentPlan, kits: Iterable[KitAhead]) -> list[str]:
    """Codes of the kits of a plan that are to be mended, once for each student who gets one."""
    codes = {kit.code for kit in kits if kit.to_mend}
    return [given.code for given in plan.hand_overs if given.code in codes]


def _late(plan: AssignmentPlan) -> str:
    number = plan.value(Level.LATE)
    if not number:
        return "No kit is handed over late."
    days = counted(plan.value(Level.LATE_DAYS), "day", "days")
    return f"{counted(number, 'kit is', 'kits are')} handed over late, {days} in all."


def _slack(plan: AssignmentPlan) -> str:
    slack = [row.slack_days for row in plan.hand_overs if row.slack_days is not None]
    if not slack:
        return "No hand-over waits for a return."
    tight = sum(days < ENOUGH_SLACK_DAYS for days in slack)
    least = counted(min(slack), "day", "days")
    sentence = f"Returns may be {least} late before a hand-over is"
    if not tight:
        return f"{sentence}; {ENOUGH_SLACK_DAYS} or more are enough."
    few = counted(tight, "hand-over has", "hand-overs have")
    return f"{sentence}; {few} fewer than {ENOUGH_SLACK_DAYS}."


def _to_do(plan: AssignmentPlan, kits: Iterable[KitAhead]) -> str:
    given = {row.code for row in plan.hand_overs}
    number = sum(kit.to_do > 0 for kit in kits if kit.code in given)
    if not number:
        return "All these kits may go out as they are."
    return f"{counted(number, 'kit has', 'kits have')} still to pass the bench or be made whole."


def _wear(plan: AssignmentPlan, kits: Sequence[KitAhead]) -> str:
    given = {row.code for row in plan.hand_overs}
    loans = [number for code, number in loans_after(kits, plan).items() if code in given]
    if not loans:
        return "No kit is lent."
    if min(loans) == max(loans):
        return f"Each of these kits will have been lent {counted(max(loans), 'time', 'times')}."
    return f"These kits will have been lent {min(loans)} to {max(loans)} times."


def _changes(plan: AssignmentPlan) -> str:
    number = plan.value(Level.CHANGES)
    if not number:
        return "Nothing changes of what was agreed and can be kept."
    return f"{counted(number, 'agreed kit changes', 'agreed kits change')}."


def lacking_words(row: LackingKits, kind: str) -> str:
    """``2 kits of the type Two-lead kit lack from 3 March to 9 April 2027.``"""
    lack = counted(row.kits, "kit", "kits")
    verb = "lacks" if row.kits == 1 else "lack"
    last = row.until - timedelta(days=1)
    days = f"from {short_date(row.first)} to {short_date(last)}"
    if row.until == date.max:
        days = f"from {short_date(row.first)} on"
    elif last == row.first:
        days = f"on {short_date(row.first)}"
    return f"{lack} of the type {kind} {verb} {days}."


def mend_words(mend: Mend, holders: Mapping[str, str], names: Mapping[int, str]) -> str:
    """What to do and what it brings, such as ``Get kit K0012A back from Ada 3 days sooner, to be
    free on 3 March: 1 more student has a kit.``

    `holders` are the students who have a kit, `names` the students of the plan.
    """
    days, on = counted(mend.days, "day", "days"), short_date(mend.on)
    match mend.way:
        case MendWay.CHASE:
            holder = f" from {holders[mend.code]}" if mend.code in holders else ""
            act = f"Get kit {mend.code} back{holder} {days} sooner, to be free on {on}"
        case MendWay.BENCH_FIRST:
            act = f"Take kit {mend.code} to the bench first: free on {on}, {days} sooner"
        case MendWay.SHIFT:
            name = names.get(mend.who or 0, "the student")
            act = f"Shift {name} by {days}, to be posted on {on}"
    return f"{act}: {_gain(mend)}."


def _gain(mend: Mend) -> str:
    if mend.served:
        return counted(mend.served, "more student has a kit", "more students have a kit")
    return counted(mend.in_time, "more kit is in time", "more kits are in time")
