"""The parts and limits of several kits, looked up together: for a batch of captures."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

from django.db.models import F, Window
from django.db.models.functions import RowNumber

from readiness.judgement.own_limit import GOOD_CAPTURES
from readiness.models import BenchPlan
from readiness.signal.limits import Limits
from rentals.models import Amplifier, BatteryPack, Kit, Part, PartKind, Practice

from .limits import JUDGED_PARTS, good_noise, limits_by


class LimitBook:
    """What ``fitted`` and ``limits_for`` say of kits, and their test plans, as it stood when each
    was first asked for; kits that are known beforehand share their queries.
    """

    def __init__(self, kits: Iterable[Kit]) -> None:
        self._parts: dict[int, dict[str, Part]] = {}
        self._limits: dict[int, Limits] = {}
        self._plans: dict[int, BenchPlan] = {}
        self._look_up({kit.pk: kit for kit in kits})

    def fitted(self, kit: Kit) -> dict[str, Part]:
        """The serial parts in a kit that the bench looks at, by kind."""
        self._look_up({kit.pk: kit})
        return self._parts[kit.pk]

    def limits(self, kit: Kit) -> Limits:
        """Limits for captures of a kit."""
        self._look_up({kit.pk: kit})
        return self._limits[kit.pk]

    def plan(self, kit: Kit) -> BenchPlan:
        """The test plan of a kit's type."""
        self._look_up({kit.pk: kit})
        return self._plans[kit.pk]

    def renew_plans(self, kits: Iterable[Kit]) -> None:
        """Read the plans once more, where the kits are locked: a kit is cleared by the plan of now,
        whatever its captures were judged by.
        """
        kits = list(kits)
        plans = _plans_of(kits)
        self._plans.update({kit.pk: plans[kit.kit_type_id] for kit in kits})

    @cached_property
    def _practice(self) -> Practice:
        return Practice.current()

    def _look_up(self, kits: dict[int, Kit]) -> None:
        new = [kit for pk, kit in kits.items() if pk not in self._parts]
        if not new:
            return
        parts: dict[int, dict[str, Part]] = {kit.pk: {} for kit in new}
        found = Part.objects.filter(kit__in=new, kind__in=JUDGED_PARTS)
        for part in sorted(found, key=lambda part: part.code):
            if part.kit_id is not None:
                parts[part.kit_id].setdefault(part.kind, part)
        self._parts.update(parts)
        amplifiers = _keys(parts.values(), PartKind.AMPLIFIER)
        packs = _keys(parts.values(), PartKind.BATTERY_PACK)
        plans = _plans_of(new)
        own = {row.pk: row.noise_limit_uv for row in Amplifier.objects.filter(pk__in=amplifiers)}
        fresh_packs = BatteryPack.objects.filter(pk__in=packs)
        cells = {pack.pk: (pack.chemistry, pack.cells) for pack in fresh_packs}
        noise = _first_good_noise(amplifiers)
        for kit in new:
            amplifier = parts[kit.pk].get(PartKind.AMPLIFIER)
            pack = parts[kit.pk].get(PartKind.BATTERY_PACK)
            plan = plans[kit.kit_type_id]
            self._plans[kit.pk] = plan
            self._limits[kit.pk] = limits_by(
                plan,
                own_limit_uv=own.get(amplifier.pk) if amplifier else None,
                good_noise_uv=noise.get(amplifier.pk, []) if amplifier else [],
                cells=cells.get(pack.pk) if pack else None,
                practice=self._practice,
            )


def _plans_of(kits: Iterable[Kit]) -> dict[int, BenchPlan]:
    """By the number of the kit type; where nobody has changed a plan yet, the usual one."""
    types = {kit.kit_type_id for kit in kits}
    stored = {plan.kit_type_id: plan for plan in BenchPlan.objects.filter(kit_type__in=types)}
    return {pk: stored.get(pk) or BenchPlan(kit_type_id=pk) for pk in types}


def _keys(parts: Iterable[dict[str, Part]], kind: PartKind) -> set[int]:
    return {fitted[kind].pk for fitted in parts if kind in fitted}


def _first_good_noise(amplifier_keys: set[int]) -> dict[int, list[float]]:
    """``first_good_noise_uv`` of several amplifiers, by key."""
    place = Window(
        RowNumber(),
        partition_by="capture__amplifier_id",
        order_by=[F("capture__taken").asc(), F("capture_id").asc()],
    )
    rows = (
        good_noise()
        .filter(capture__amplifier__in=amplifier_keys)
        .annotate(place=place)
        .filter(place__lte=GOOD_CAPTURES)
    )
    found: dict[int, list[float]] = {}
    for amplifier, value in rows.values_list("capture__amplifier_id", "noise_uv"):
        if value is not None:
            found.setdefault(amplifier, []).append(value)
    return found
