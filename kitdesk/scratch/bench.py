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
#: RMS of what makes a recording another one, beside the amplifier's own noise.
_OTHER_NOISE_UV = 1.0


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
    """One file of each test for each kit: recordings of their own, told from a few simulated
    ones.
    """
    draws = np.random.default_rng(seed)
    made = {test: simulate(test, Setup(rate_hz=RATE_HZ, seed=5)) for test in TESTS}
    for kit in kits:
        for test, simulated in made.items():
            capture = simulated.capture
            noise = draws.normal(0.0, _OTHER_NOISE_UV, len(capture.emg.samples))
            emg = replace(capture.emg, samples=capture.emg.samples + noise)
            other = replace(simulated, capture=replace(capture, emg=emg, kit=kit.code))
            yield ContentFile(csv_bytes(other), name=f"{kit.code} {test}.csv")
