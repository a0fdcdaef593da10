"""Changing what kits are judged by: the plan of a kit type, its column map, an amplifier's own
noise limit.
"""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

from django.db.models import Field, Q
from django.utils import timezone

from readiness.actions.conclude import conclude
from readiness.actions.queue import queue_again
from readiness.judgement.own_limit import GOOD_CAPTURES_LEAST, proposed_limit_uv
from readiness.models import BenchPlan, BenchTest, Capture
from readiness.selectors.limits import first_good_noise_uv
from readiness.selectors.rounds import counting, round_since
from readiness.signal.catalogue import CATALOGUE, in_bench_order
from readiness.signal.readers import ColumnMap
from readiness.signal.readers.column_map import SAID_BY_A_MAP
from rentals import transaction
from rentals.actions.record import Actor, lock_kit, record_kit, record_limits, record_part
from rentals.actions.register import lock_part
from rentals.counts import counted
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Amplifier, Kit, KitType, Part

PLAN_FACTS = (
    "tests",
    "noise_limit_uv",
    "noise_reason",
    "battery_limit_v",
    "battery_reason",
    "high_pass_hz",
    "low_pass_hz",
    "notch",
)
LIMITS = ("noise_limit_uv", "battery_limit_v", "high_pass_hz", "low_pass_hz", "notch")
REASON_LEAST = 10
TEXT_MOST = 600


@transaction.atomic
def change_plan(
    kit_type: KitType,
    facts: dict[str, Any],
    *,
    reason: str,
    actor: Actor = None,
    at: datetime | None = None,
) -> list[Kit]:
    """Change the plan of a kit type; kits with a round going on are judged anew. Gives the kits
    that are concerned. What changed stays on file with its reason.

    A changed limit scores the captures of their rounds again in the background; captures of earlier
    rounds keep their verdicts until ``manage.py rescore`` is run.

    Raises
    ------
    Refused
        If something changes and the reason is no sentence.
    """
    plan = _locked_plan(kit_type)
    before = {name: getattr(plan, name) for name in PLAN_FACTS}
    for name in PLAN_FACTS:
        if name in facts:
            setattr(plan, name, facts[name])
    changed = [name for name in PLAN_FACTS if getattr(plan, name) != before[name]]
    if not changed:
        return []
    reason = _in_a_sentence(reason, "Write in a sentence why this changes; it stays on this page.")
    plan.changed_at = at or timezone.now()
    plan.save()
    limits = {name: getattr(plan, name) for name in PLAN_FACTS}
    text = f"{'; '.join(_change(plan, name, before[name]) for name in changed)}. Why: {reason}"
    record_limits(kit_type.pk, limits, text[:TEXT_MOST], actor=actor, at=at)
    rounds = BenchTest.objects.filter(current=True, kit__kit_type=kit_type)
    kits = [bench_round.kit for bench_round in rounds.select_related("kit")]
    for kit in kits:
        if set(changed) & set(LIMITS):
            _score_round_again(kit)
        else:
            conclude(kit, actor=actor)
    return kits


def _change(plan: BenchPlan, name: str, former: Any) -> str:
    """A fact of a plan as it was and is: ``highest noise floor, µV RMS: 2.0, now 1.5``."""
    field = BenchPlan._meta.get_field(name)
    assert isinstance(field, Field)
    return f"{field.verbose_name}: {_fact_words(former)}, now {_fact_words(getattr(plan, name))}"


def _fact_words(value: Any) -> str:
    if isinstance(value, list):
        return " + ".join(CATALOGUE[name].title for name in in_bench_order(value))
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    return f"“{value}”" if value else "not stated"


def _locked_plan(kit_type: KitType) -> BenchPlan:
    """The stored plan of a kit type, locked until the transaction ends; made where there is
    none.
    """
    plan, _ = BenchPlan.objects.select_for_update().get_or_create(kit_type=kit_type)
    return plan


def _score_round_again(kit: Kit) -> None:
    """Queue the captures of a kit's round for another scoring, under the limits of now."""
    keys = [capture.pk for capture in counting(kit, round_since(kit))]
    queue_again(Capture.objects.filter(pk__in=keys, status=Capture.Status.SCORED))


@transaction.atomic
def keep_column_map(kit_type: KitType, columns: ColumnMap) -> int:
    """Keep a column map for a kit type, in place of one for the same columns, and score the files
    that waited for one; how many these are.
    """
    plan = _locked_plan(kit_type)
    others = [kept for kept in plan.column_maps if not columns.fits(kept["signature"])]
    plan.column_maps = [json.loads(columns.to_json()), *others]
    plan.save(update_fields=["column_maps"])
    asking = Capture.objects.filter(status=Capture.Status.ASKING, missing__in=SAID_BY_A_MAP)
    may_be_of_the_type = Q(kit=None) | Q(kit__kit_type=kit_type)
    return queue_again(asking.filter(may_be_of_the_type))


@transaction.atomic
def accept_noise_limit(amplifier: Amplifier, reason: str, *, actor: Actor) -> Amplifier:
    """Give an amplifier the noise limit its first good captures propose; the owner's reason goes
    into its history.

    Raises
    ------
    Refused
        If it is not the owner, there are too few good captures, or the reason is no sentence.
    """
    reason = _owners_reason(reason, actor)
    lock_part(amplifier)
    amplifier = Amplifier.objects.get(pk=amplifier.pk)
    values = first_good_noise_uv(amplifier.pk)
    if len(values) < GOOD_CAPTURES_LEAST:
        good = counted(len(values), "good still capture", "good still captures")
        raise Refused(f"{amplifier.code} has {good}; {GOOD_CAPTURES_LEAST} are needed.")
    before = amplifier.noise_limit_uv
    amplifier.noise_limit_uv = proposed_limit_uv(values)
    amplifier.save(update_fields=["noise_limit_uv"])
    former = f"{before:g} µV" if before else "that of the kit type"
    _note_limit(
        amplifier,
        f"Own noise limit {amplifier.noise_limit_uv:g} µV (was {former}), from {len(values)} good"
        f" captures: {reason}",
        actor,
    )
    return amplifier


def _owners_reason(reason: str, actor: Actor) -> str:
    """The reason in a sentence of the owner's; Refused where it is another's, or no sentence."""
    if actor is None or not getattr(actor, "is_superuser", False):
        raise Refused("Only the owner can change a limit.", field="reason")
    return _in_a_sentence(
        reason, "Write the reason in a sentence; it stays in the amplifier's history."
    )


def _in_a_sentence(reason: str, refusal: str) -> str:
    reason = reason.strip()
    if len(reason) < REASON_LEAST:
        raise Refused(refusal, field="reason")
    return reason


def _note_limit(amplifier: Amplifier, text: str, actor: Actor) -> None:
    """Record a new limit where the amplifier is; a kit it sits in is scored again."""
    part = Part.objects.get(pk=amplifier.pk)
    if not amplifier.kit_id:
        record_part(part, Verb.NOTED, text, actor=actor)
        return
    kit = lock_kit(amplifier.kit_id)
    record_kit(kit, Verb.NOTED, text, actor=actor, part=part)
    _score_round_again(kit)
