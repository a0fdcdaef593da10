"""Check kits: appointing one, dismissing it, and judging a day's failures by what it said."""

from __future__ import annotations

from datetime import date

from django.utils import timezone

from readiness.actions.conclude import conclude
from readiness.models import BenchTest, CheckKit
from readiness.selectors.bench_day import span_of
from readiness.states import VerdictWord
from rentals import transaction
from rentals.actions import issue
from rentals.actions.record import Actor, lock_kit, record_kit
from rentals.codes import grouped
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Kit
from rentals.selectors.open_loan import open_loan
from rentals.states import KitState

HOLD_REASON = "Check kit of the bench: it never leaves the house."


@transaction.atomic
def appoint(kit: Kit, *, actor: Actor = None) -> CheckKit:
    """Make a kit the check kit of the bench; it is held, so that it cannot be assigned or sent.

    Raises
    ------
    Refused
        If there is another check kit, or the kit is on a loan, packed or away.
    """
    kit = lock_kit(kit)
    earlier = CheckKit.objects.select_related("kit").exclude(kit=kit).first()
    if earlier is not None:
        raise Refused(
            f"Kit {grouped(earlier.kit.code)} is the check kit already: dismiss it first."
        )
    if open_loan(kit) is not None:
        raise Refused(f"Kit {grouped(kit.code)} is on a loan; a check kit never leaves the bench.")
    check_kit, is_new = CheckKit.objects.get_or_create(kit=kit, defaults={"since": timezone.now()})
    if is_new:
        if kit.state == KitState.HELD:
            record_kit(kit, Verb.NOTED, HOLD_REASON, actor=actor)
        else:
            issue.hold(kit, reason=HOLD_REASON, actor=actor)
    return check_kit


@transaction.atomic
def dismiss(kit: Kit, *, actor: Actor = None) -> None:
    """The kit is an ordinary one again."""
    kit = lock_kit(kit)
    dismissed, _ = CheckKit.objects.filter(kit=kit).delete()
    if dismissed and kit.state == KitState.HELD and kit.hold_reason == HOLD_REASON:
        issue.release(kit, actor=actor)


def judge_day_again(day: date, *, actor: Actor = None) -> int:
    """Judge the kits that were not fit, or held as retest, on a bench day anew; how many there
    were.
    """
    start, end = span_of(day)
    doubtful = BenchTest.objects.filter(
        current=True,
        verdict__in=[VerdictWord.NOT_FIT, VerdictWord.RETEST],
        captures__taken__gte=start,
        captures__taken__lt=end,
    )
    kits = list(
        Kit.objects.filter(bench_tests__in=doubtful, check_kit=None).distinct().order_by("pk")
    )
    for kit in kits:
        conclude(kit, actor=actor)
    return len(kits)
