"""What the bench found in a kit: its scores, and whether it may leave. One write of its row."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from rentals import transaction
from rentals.errors import Refused
from rentals.lifecycle import Verb, may
from rentals.models import Kit
from rentals.selectors.contents import REFUSED, lacking_in
from rentals.states import KitState

from .record import Actor, record_kit

_SCORES = ["score_continuity", "score_noise", "score_battery", "scored_at"]


@dataclass(frozen=True)
class BenchWord:
    """Three headline scores (0 to 100, None where not judged), and either the ground on which the
    kit is cleared, or what is against it, or neither.
    """

    continuity: float | None
    noise: float | None
    battery: float | None
    fit_by: str = ""
    against: str = ""


def hear_bench(
    kit: Kit, word: BenchWord, *, actor: Actor = None, at: datetime | None = None
) -> str:
    """Keep what the bench found in a locked kit whose row was read since, and clear or refuse it.

    Returns what stands against clearing a kit that the bench finds fit: a part is missing or
    damaged, or it is packed, away or held. Empty where nothing does.
    """
    with transaction.in_this_act():
        kit.score_continuity, kit.score_noise = word.continuity, word.noise
        kit.score_battery, kit.scored_at = word.battery, at or timezone.now()
        is_saved, hindrance = False, ""
        if word.fit_by:
            try:
                is_saved = clear_locked(kit, why=word.fit_by, actor=actor, at=at)
            except Refused as refusal:
                hindrance = refusal.sentence
        elif word.against:
            is_saved = refuse_locked(kit, reason=word.against, actor=actor, at=at)
        if not is_saved:
            kit.save(update_fields=_SCORES)
    return hindrance


def clear_locked(kit: Kit, *, why: str, actor: Actor, at: datetime | None) -> bool:
    """Clear a locked kit; False where it was cleared before, and nothing was written. Raises
    Refused, having written nothing, where it cannot be cleared.
    """
    if kit.cleared:
        return False
    if lacks := lacking_in(kit):
        raise Refused(f"Kit {kit.code} cannot be cleared. {' '.join(lacks)}")
    on_file = kit.cleared_at, kit.not_cleared_reason
    kit.cleared_at, kit.not_cleared_reason = at or timezone.now(), ""
    try:
        record_kit(kit, Verb.CLEARED, f"Cleared for issue: {why}", actor=actor, at=at)
    except Refused:
        kit.cleared_at, kit.not_cleared_reason = on_file
        raise
    return True


def refuse_locked(kit: Kit, *, reason: str, actor: Actor, at: datetime | None) -> bool:
    """Say of a locked kit that the bench found it wanting; False where that is what it says
    already, and nothing was written.
    """
    reason = reason.strip()[:500]
    if kit.not_cleared_reason == reason and not kit.cleared:
        return False
    kit.not_cleared_reason = reason
    if may(Verb.UNCLEARED, KitState(kit.state)):
        record_kit(kit, Verb.UNCLEARED, f"{REFUSED}{reason}", actor=actor, at=at)
    else:
        record_kit(kit, Verb.NOTED, f"Bench: {reason}", actor=actor, at=at)
    return True
