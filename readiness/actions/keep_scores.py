"""Writing down what was found in captures of some kits, and judging these by it, in one short
transaction: most of what it costs is shared.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import prefetch_related_objects
from django.utils import timezone

from readiness.actions.check_kit import judge_day_again
from readiness.actions.claim_capture import refuse
from readiness.actions.conclude import conclude_locked
from readiness.actions.same_as import same_samples_sentence
from readiness.actions.verdicts import keep_verdicts
from readiness.models import Capture, CaptureMark
from readiness.selectors.limit_book import LimitBook
from readiness.selectors.round_book import rounds_of
from readiness.selectors.same_samples import SeenSamples
from readiness.signal.catalogue import NOISE_TEST
from readiness.signal.limits import Limits
from readiness.signal.sample_marks import SampleMark
from rentals import transaction
from rentals.actions.lock_order import lock_in_order, lock_kits
from rentals.actions.record import Actor
from rentals.models import Kit, Part, PartKind

Status = Capture.Status
_WRITTEN = (
    *("kit", "test", "taken", "taken_known", "amplifier", "lead_set", "battery_pack"),
    *("status", "claimed_at", "refusal", "missing"),
)


@dataclass(frozen=True)
class ScoredCapture:
    """A claimed capture with its kit, test and time; its result in the stored form and the limits
    it was judged by; what its samples are known by, None where too little changes in them.
    """

    capture: Capture
    result: dict[str, Any]
    limits: Limits
    mark: SampleMark | None


@dataclass(frozen=True)
class OfKit:
    """What was found in captures of one kit, and under whose name what follows is recorded."""

    kit: Kit
    actor: Actor
    scored: Sequence[ScoredCapture]


@transaction.atomic
def keep_scores(
    kits: Sequence[OfKit], book: LimitBook, seen: SeenSamples, *, at: datetime | None
) -> None:
    """Keep the results of captures of some kits, and judge these, each once. Left out are captures
    whose claim was taken over meanwhile, and those whose samples somebody else has kept since they
    were looked for.
    """
    by_key = {each.capture.pk: each for of_kit in kits for each in of_kit.scored}
    claims = {each.capture.claimed_at for each in by_key.values()}
    claimed = Capture.objects.filter(pk__in=by_key, status=Status.SCORING, claimed_at__in=claims)
    rows = lock_in_order(claimed)
    found = [by_key[row.pk] for row in rows]
    twins = seen.twins_since([(each.capture, each.mark) for each in found])
    for each in found:
        if twin := twins.get(each.capture.pk):
            refuse(each.capture, same_samples_sentence(*twin))
    kept = [(row, by_key[row.pk]) for row in rows if row.pk not in twins]
    if not kept:
        return
    locked = lock_kits(of_kit.kit.pk for of_kit in kits)
    prefetch_related_objects(list(locked.values()), "parts", "kit_type__lines", "check_kit")
    book.renew_plans(locked.values())
    _save(kept, book)
    keep_verdicts([(row, each.result, each.limits) for row, each in kept], at=at)
    _keep_marks(kept)
    _judge_kits(kits, locked, [row for row, _ in kept], book, at)


def _judge_kits(
    kits: Sequence[OfKit],
    locked: Mapping[int, Kit],
    scored: Sequence[Capture],
    book: LimitBook,
    at: datetime | None,
) -> None:
    """What the scored captures mean for their locked kits and, where one is the check kit, for the
    bench.
    """
    rounds = rounds_of(list(locked.values()), book)
    changed = {capture.pk: capture for capture in scored}
    for of_kit in kits:
        if any(each.capture.pk in changed for each in of_kit.scored):
            kit = locked[of_kit.kit.pk]
            conclude_locked(kit, rounds[kit.pk], book.plan(kit), at=at, actor=of_kit.actor)
    # Afterwards: it reads kits of this batch anew, which must stand in their rows by then.
    for of_kit in kits:
        if hasattr(locked[of_kit.kit.pk], "check_kit"):
            own = [changed[e.capture.pk] for e in of_kit.scored if e.capture.pk in changed]
            noise = {timezone.localdate(row.taken) for row in own if row.test == NOISE_TEST}
            for day in sorted(noise):
                judge_day_again(day, actor=of_kit.actor)


def _save(kept: Sequence[tuple[Capture, ScoredCapture]], book: LimitBook) -> None:
    """Write captures down as scored, all at once."""
    for row, found in kept:
        known = found.capture
        assert known.kit is not None  # a capture is scored for a kit
        row.kit, row.test = known.kit, known.test
        row.taken, row.taken_known = known.taken, known.taken_known
        row.status, row.claimed_at = Status.SCORED, None
        row.refusal = row.missing = ""
        _note_parts(row, book.fitted(known.kit))
    Capture.objects.bulk_create(
        [row for row, _ in kept],
        update_conflicts=True,
        update_fields=_WRITTEN,
        unique_fields=["id"],
    )


def _note_parts(capture: Capture, parts: Mapping[str, Part]) -> None:
    """The serial parts a capture speaks of, for their histories; written once, at the first
    scoring.
    """
    if capture.amplifier_id or capture.lead_set_id or capture.battery_pack_id:
        return
    capture.amplifier = parts.get(PartKind.AMPLIFIER)
    capture.lead_set = parts.get(PartKind.LEAD_SET)
    capture.battery_pack = parts.get(PartKind.BATTERY_PACK)


def _keep_marks(kept: Sequence[tuple[Capture, ScoredCapture]]) -> None:
    """What their samples are known by; none where too little changes in them."""
    marks = [CaptureMark(capture=row, mark=each.mark.to_bytes()) for row, each in kept if each.mark]
    CaptureMark.objects.bulk_create(
        marks, update_conflicts=True, update_fields=["mark"], unique_fields=["capture"]
    )
    if without := [row for row, each in kept if not each.mark]:
        CaptureMark.objects.filter(capture__in=without).delete()
