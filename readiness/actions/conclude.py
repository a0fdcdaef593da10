"""From the verdicts of a kit's captures to the kit: cleared for issue, or refused with the
finding's own sentence.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from readiness.judgement.combining import Combined, combine
from readiness.judgement.rounds import Since, at_the_bench
from readiness.models import BenchPlan, BenchTest, Capture
from readiness.selectors.bench_day import doubt_of
from readiness.selectors.rounds import counting, round_since, verdict_of
from readiness.selectors.series import kit_warnings
from readiness.states import VerdictWord
from rentals.actions import issue
from rentals.actions.record import Actor, lock_kit
from rentals.errors import Refused
from rentals.models import Kit


@transaction.atomic
def conclude(kit: Kit, *, at: datetime | None = None, actor: Actor = None) -> BenchTest | None:
    """Judge a kit by the captures of its present round, and clear it or refuse it as they say.

    All required tests fit: the kit is cleared, unless a part is missing or damaged (kept in
    ``not_cleared_because``). One not fit, or one to be done again: refused with that finding's
    sentence. Tests still missing and nothing against the kit: nothing changes. Safe to repeat.

    Returns the current round, or None for a kit that is not at the bench or has no capture that
    counts.
    """
    kit = lock_kit(kit)
    since = round_since(kit)
    captures = counting(kit, since)
    if not captures:
        _leave_stale_round(kit, at=at, actor=actor)
        return None
    plan = BenchPlan.of(kit.kit_type)
    newest = newest_per_test(captures)
    combined = combine(
        {test: verdict_of(capture).result for test, capture in newest.items()},
        plan.required,
        earlier=[
            verdict_of(capture).result
            for capture in captures
            if capture.pk != newest[capture.test].pk
        ],
    )
    combined = _in_doubt(kit, newest, combined)
    current = _round(kit, since, at or timezone.now())
    was_cleared = current.cleared_at is not None
    _write(current, plan, newest, combined)
    current.captures.set(captures)
    issue.note_scores(
        kit, continuity=current.continuity, noise=current.noise, battery=current.battery, at=at
    )
    if not combined.verdict and was_cleared:
        # The plan asks for more than it did, or a capture was set aside.
        lacks = f"These tests are missing: {', '.join(current.lacking)}."
        issue.refuse_clearance(kit, reason=lacks, actor=actor, at=at)
    _carry_over(kit, current, at=at, actor=actor)
    return current


def _in_doubt(kit: Kit, newest: dict[str, Capture], combined: Combined) -> Combined:
    """Failures of a day on which the check kit was out of its own limits are held as retest: the
    bench is suspect.
    """
    if combined.verdict != VerdictWord.NOT_FIT or hasattr(kit, "check_kit"):
        return combined
    failed = {
        timezone.localdate(c.taken)
        for c in newest.values()
        if verdict_of(c).verdict == VerdictWord.NOT_FIT
    }
    doubt = doubt_of(failed)
    return (
        replace(combined, verdict=VerdictWord.RETEST, sentence=f"{doubt} {combined.sentence}")
        if doubt
        else combined
    )


def newest_per_test(captures: Iterable[Capture]) -> dict[str, Capture]:
    """The newest capture of each test, from captures given newest first."""
    newest: dict[str, Capture] = {}
    for capture in captures:
        newest.setdefault(capture.test, capture)
    return newest


def _leave_stale_round(kit: Kit, *, at: datetime | None, actor: Actor) -> None:
    """A round none of whose captures counts any more is over; what it had cleared is no longer
    cleared.
    """
    stale = BenchTest.objects.select_for_update().filter(kit=kit, current=True).first()
    if stale is None or not at_the_bench(kit):
        return
    stale.current = False
    stale.save(update_fields=["current"])
    if kit.cleared and stale.cleared_at:
        issue.refuse_clearance(
            kit, reason="No bench capture counts any more: test the kit again.", actor=actor, at=at
        )


def _round(kit: Kit, since: Since, at: datetime) -> BenchTest:
    current = BenchTest.objects.select_for_update().filter(kit=kit, current=True).first()
    if current is not None and current.since == since.at:
        current.at = at
        return current
    if current is not None:
        current.current = False
        current.save(update_fields=["current"])
    return BenchTest(kit=kit, since=since.at, at=at)


def _write(
    current: BenchTest, plan: BenchPlan, newest: dict[str, Capture], combined: Combined
) -> None:
    current.required = list(plan.required)
    current.tests = {
        test: {"capture": capture.pk, "verdict": verdict_of(capture).verdict}
        for test, capture in newest.items()
    }
    current.verdict, current.sentence = combined.verdict, combined.sentence[:500]
    current.warnings = kit_warnings(current.kit)
    current.findings, current.proven = combined.findings, combined.proven
    current.continuity, current.noise, current.battery = (
        combined.scores[aspect] for aspect in ("continuity", "noise", "battery")
    )
    if combined.verdict != VerdictWord.FIT:
        current.cleared_at, current.not_cleared_because = None, ""
    current.save()


def _carry_over(kit: Kit, current: BenchTest, *, at: datetime | None, actor: Actor) -> None:
    """Tell the loan loop what the bench found."""
    if not current.verdict:
        return
    if current.verdict != VerdictWord.FIT:
        issue.refuse_clearance(kit, reason=current.sentence, actor=actor, at=at)
        return
    current.not_cleared_because = ""
    try:
        with transaction.atomic():
            kit = issue.clear(kit, why=_ground(current), actor=actor, at=at)
        current.cleared_at = current.cleared_at or kit.cleared_at or at or timezone.now()
    except Refused as refusal:
        current.not_cleared_because, current.cleared_at = refusal.sentence[:500], None
    current.save(update_fields=["not_cleared_because", "cleared_at"])


def _ground(current: BenchTest) -> str:
    proven = [f"lead {lead}" if lead != "ground" else "ground" for lead in current.proven]
    leads = f" Proven: {', '.join(proven)}." if proven else ""
    return f"bench tests {', '.join(current.required)} passed.{leads}"


@transaction.atomic
def conclude_again(kit: Kit, *, actor: Actor = None) -> BenchTest:
    """Judge a kit's round once more on request, where what stood against clearing it has been
    mended since.

    Raises
    ------
    Refused
        If there is nothing to judge, or the kit still cannot be cleared; the sentence says what
        lacks.
    """
    current = conclude(kit, actor=actor)
    if current is None:
        raise Refused(f"Kit {kit.code} has no capture that counts now. Test it first.")
    if not current.verdict:
        raise Refused(f"These tests are still missing: {', '.join(current.lacking)}.")
    if current.verdict != VerdictWord.FIT:
        raise Refused(current.sentence)
    if current.not_cleared_because:
        raise Refused(current.not_cleared_because)
    return current
