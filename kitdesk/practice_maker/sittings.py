"""Captures of the played practice: short files of simulated benches, scored by the real engine."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
from django.core.files.base import ContentFile

from kitdesk.demo.captures import TESTS
from readiness.actions.score import score_one
from readiness.actions.upload import store_upload
from readiness.signal.simulator.captures import Setup, edf_bytes, simulate
from rentals.models import Kit

from .furniture import Furniture

RATE_HZ = 256.0


def sit(furniture: Furniture, kit: Kit, day: int, seed: int) -> None:
    """A kit on the bench: its three captures, dropped and scored."""
    files = [
        _file(furniture, kit, test, day, seed * len(TESTS) + place)
        for place, test in enumerate(TESTS)
    ]
    at = furniture.clock.at(day, 12)
    upload = store_upload(files, actor=furniture.owner, at=at)
    for pk in upload.captures.order_by("pk").values_list("pk", flat=True):
        score_one(pk, at=at, actor=furniture.owner)


def _file(furniture: Furniture, kit: Kit, test: str, day: int, seed: int) -> ContentFile[bytes]:
    setup = Setup(seed=seed, rate_hz=RATE_HZ, low_pass_hz=100.0, noise_density_nv=30.0)
    made = simulate(test, setup, (), np.random.default_rng(seed), kit=kit.code)
    taken = furniture.clock.at(day, 9) + timedelta(minutes=seed % len(TESTS))
    made = replace(made, capture=replace(made.capture, taken=taken))
    return ContentFile(edf_bytes(made), name=f"{kit.code} {test} {day % 1000}.edf")
