"""Kits at the bench of a scratch desk, and files of captures for them, all different."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from django.core.files.base import ContentFile
from django.utils import timezone

from kitdesk.demo import house, scenario
from kitdesk.owner import demo_owner
from readiness.models import BenchPlan
from readiness.signal.simulator.captures import Setup, csv_bytes, simulate
from rentals import transaction
from rentals.actions.setup import save_kit_type, save_line
from rentals.models import ContentsLine, Kit, KitType

TESTS = ("still", "flex", "lift")
RATE_HZ = 1024.0


@transaction.atomic
def kits_at_bench(count: int) -> list[Kit]:
    """So many complete kits that were never tested."""
    owner, now = demo_owner(), timezone.now()
    kit_type = save_kit_type(KitType(name=scenario.KIT_TYPE))
    for kind, name, *_ in scenario.SERIAL_LINES:
        save_line(ContentsLine(kit_type=kit_type, part_kind=kind, name=name, tracked_by="serial"))
    BenchPlan.objects.create(kit_type=kit_type, tests=list(TESTS))
    return house.kits(kit_type, count, owner, now)


def capture_files(kits: Sequence[Kit], seed: int) -> Iterator[ContentFile]:
    """One file of each test for each kit, each a recording of its own: one that was told from
    another by a little noise would be refused as its copy.
    """
    draws = np.random.default_rng(seed)
    for kit in kits:
        for test in TESTS:
            own = int(draws.integers(2**31))
            simulated = simulate(test, Setup(rate_hz=RATE_HZ, seed=own))
            capture = replace(simulated.capture, kit=kit.code)
            other = replace(simulated, capture=capture)
            yield ContentFile(csv_bytes(other), name=f"{kit.code} {test}.csv")
