"""From the verdicts of a kit's captures to the kit: cleared for issue, or refused with the
finding's own sentence.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from django.utils import timezone

from readiness.judgement.combining import Combined, combine
from readiness.judgement.rounds import Since, at_the_bench
from readiness.models import BenchPlan, BenchTest, Capture, Verdict
from readiness.selectors.bench_day import doubt_of
from readiness.selectors.limit_book import LimitBook
from readiness.selectors.round_book import KitRound, rounds_of
from readiness.selectors.rounds import verdict_of
from readiness.states import VerdictWord
from rentals import transaction
from rentals.actions.bench_word import BenchWord, hear_bench
from rentals.actions.issue import refuse_clearance
from rentals.actions.record import Actor, lock_kit
from rentals.errors import Refused
from rentals.models import Kit

LONGEST_SENTENCE = 500


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
    book = LimitBook([kit])
    return conclude_locked(kit, rounds_of([kit], book)[kit.pk], book.plan(kit), at=at, actor=actor)


def conclude_locked(
    kit: Kit,
    found: KitRound,
    plan: BenchPlan,
    *,
    at: datetime | None = None,
    actor: Actor = None,
) -> BenchTest | None:
    """The same within an act that has locked the kit, and then read its row, round and plan."""
    if not found.captures:
        _end_stale_round(kit, at=at, actor=actor)
        return None
    newest = newest_per_test(found.captures)
    combined = _combined(found.captures, newest, plan)
    if combined.verdict == VerdictWord.NOT_FIT and not hasattr(kit, "check_kit"):
        combined = _held_while_in_doubt(combined, newest)
    bench_round = _round_of(kit, found.since, at or timezone.now())
    was_cleared = bench_round.cleared_at is not None
    bench_round.warnings = list(found.warnings)
    _note(bench_round, plan, newest, combined)
    _tell_the_kit(kit, bench_round, was_cleared, at=at, actor=actor)
    is_new = bench_round.pk is None
    bench_round.save()
    if is_new:
        bench_round.captures.add(*found.captures)
    else:
        bench_round.captures.set(found.captures)
    return bench_round


def _combined(captures: Iterable[Capture], newest: dict[str, Capture], plan: BenchPlan) -> Combined:
    """One verdict from those of the captures: the newest of each test, and the earlier ones."""
    newest_keys = {capture.pk for capture in newest.values()}
    return combine(
        {test: _verdict(capture).result for test, capture in newest.items()},
        plan.required,
        earlier=[_verdict(capture).result for capture in captures if capture.pk not in newest_keys],
    )


def _held_while_in_doubt(combined: Combined, newest: dict[str, Capture]) -> Combined:
    """Failures of a day on which the check kit was out of its own limits are held as retest: the
    bench is suspect.
    """
    days_of_failures = {
        timezone.localdate(capture.taken)
        for capture in newest.values()
        if _verdict(capture).verdict == VerdictWord.NOT_FIT
    }
    doubt = doubt_of(days_of_failures)
    if not doubt:
        return combined
    sentence = f"{doubt} {combined.sentence}"
    return replace(combined, verdict=VerdictWord.RETEST, sentence=sentence)


def newest_per_test(captures: Iterable[Capture]) -> dict[str, Capture]:
    """The newest capture of each test, from captures given newest first."""
    newest: dict[str, Capture] = {}
    for capture in captures:
        newest.setdefault(capture.test, capture)
    return newest


def _current_round(kit: Kit) -> BenchTest | None:
    """The round on file, locked until the transaction ends."""
    return BenchTest.objects.select_for_update().filter(kit=kit, current=True).first()


def _end(bench_round: BenchTest) -> None:
    bench_round.current = False
    bench_round.save(update_fields=["current"])


def _end_stale_round(kit: Kit, *, at: datetime | None, actor: Actor) -> None:
    """A round none of whose captures counts any more is over; what it had cleared is no longer
    cleared.
    """
    stale = _current_round(kit)
    if stale is None or not at_the_bench(kit):
        return
    _end(stale)
    if kit.cleared and stale.cleared_at:
        reason = "No bench capture counts any more: test the kit again."
        refuse_clearance(kit, reason=reason, actor=actor, at=at)


def _round_of(kit: Kit, since: Since, at: datetime) -> BenchTest:
    """The round that began at `since`: the one on file, or a new one, not saved yet."""
    bench_round = _current_round(kit)
    if bench_round is not None and bench_round.since == since.at:
        bench_round.at, bench_round.kit = at, kit
        return bench_round
    if bench_round is not None:
        _end(bench_round)
    return BenchTest(kit=kit, since=since.at, at=at)


def _note(
    bench_round: BenchTest, plan: BenchPlan, newest: dict[str, Capture], combined: Combined
) -> None:
    """Put down what the bench found in a round; not saved yet."""
    bench_round.required = list(plan.required)
    bench_round.tests = {
        test: {"capture": capture.pk, "verdict": _verdict(capture).verdict}
        for test, capture in newest.items()
    }
    bench_round.verdict = combined.verdict
    bench_round.sentence = combined.sentence[:LONGEST_SENTENCE]
    bench_round.findings = combined.findings
    bench_round.proven = combined.proven
    bench_round.continuity = combined.scores["continuity"]
    bench_round.noise = combined.scores["noise"]
    bench_round.battery = combined.scores["battery"]
    if combined.verdict != VerdictWord.FIT:
        bench_round.cleared_at, bench_round.not_cleared_because = None, ""


def _tell_the_kit(
    kit: Kit, bench_round: BenchTest, was_cleared: bool, *, at: datetime | None, actor: Actor
) -> None:
    """Tell the loan loop what the bench found: scores, and whether the kit may leave. The round
    notes whether it does, and what stands against it where it is fit.
    """
    is_fit, against = bench_round.verdict == VerdictWord.FIT, ""
    if bench_round.verdict and not is_fit:
        against = bench_round.sentence
    elif not bench_round.verdict and was_cleared:
        # The plan asks for more than it did, or a capture was set aside.
        against = f"These tests are missing: {', '.join(bench_round.lacking)}."
    word = BenchWord(
        bench_round.continuity,
        bench_round.noise,
        bench_round.battery,
        fit_by=_ground(bench_round) if is_fit else "",
        against=against,
    )
    hindrance = hear_bench(kit, word, actor=actor, at=at)
    bench_round.not_cleared_because = hindrance[:LONGEST_SENTENCE]
    if not is_fit or hindrance:
        bench_round.cleared_at = None
    else:
        bench_round.cleared_at = bench_round.cleared_at or kit.cleared_at or at or timezone.now()


def _ground(bench_round: BenchTest) -> str:
    """What a kit was cleared on, in words."""
    proven = [f"lead {lead}" if lead != "ground" else "ground" for lead in bench_round.proven]
    leads = f" Proven: {', '.join(proven)}." if proven else ""
    return f"bench tests {', '.join(bench_round.required)} passed.{leads}"


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
    bench_round = conclude(kit, actor=actor)
    if bench_round is None:
        raise Refused(f"Kit {kit.code} has no capture that counts now. Test it first.")
    if not bench_round.verdict:
        raise Refused(f"These tests are still missing: {', '.join(bench_round.lacking)}.")
    if bench_round.verdict != VerdictWord.FIT:
        raise Refused(bench_round.sentence)
    if bench_round.not_cleared_because:
        raise Refused(bench_round.not_cleared_because)
    return bench_round


def _verdict(capture: Capture) -> Verdict:
    """The current verdict of a capture that counts: only scored ones do."""
    verdict = verdict_of(capture)
    assert verdict is not None
    return verdict
