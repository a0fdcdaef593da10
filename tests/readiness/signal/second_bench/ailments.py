"""What may be wrong with a kit or its file on the second bench, and how badly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .drawing import log_uniform

LEADS = ("A", "B", "ground")
LEAD_AILMENTS = ("open", "intermittent", "resistive")
PAIRS = ("AB", "Aground", "Bground")

NEVER_PASSED = ("open", "intermittent", "shorted", "dead", "saturated", "noisy", "flat")
"""A kit with one of these is never fit; an intermittent ground apart, which still, flex and lift
cannot always show.
"""
KIT_AILMENTS = (
    *NEVER_PASSED,
    "resistive",
    "leaking",
    "swapped",
    "flicker",
    "popcorn",
    "stuck",
    "one_sided",
)
FILE_AILMENTS = ("wrong_rate", "lost_packet", "repeated_packet")
TROUBLES = ("loud", "phone", "bumped", "rubbed")
"""A sound kit in a bad moment: strong hum, a phone, a knock in still, a cable that rubs."""


@dataclass(frozen=True)
class Ailment:
    """``kind`` is one of the above; ``lead`` a lead, or two for what lies between them; ``size``
    in the unit of its kind: ohms, steps, times the noise, volts or shares.
    """

    kind: str
    lead: str = ""
    size: float = 0.0
    bit: int = 0

    @property
    def label(self) -> str:
        """Name of its row in the tables."""
        return f"{self.kind} {self.lead}" if self.kind in LEAD_AILMENTS else self.kind


def draw_ailment(kind: str, rng: np.random.Generator) -> Ailment:
    """One ailment of ``kind``, from barely there to plain."""
    lead = str(rng.choice(LEADS))
    if kind in ("shorted", "leaking"):
        lead = str(rng.choice(PAIRS, p=(0.6, 0.2, 0.2)))
    if kind == "swapped":
        lead = str(rng.choice(PAIRS[1:]))
    low, high = SIZES.get(kind, (1.0, 1.0))
    return Ailment(kind, lead, log_uniform(rng, low, high), int(rng.integers(0, 4)))


SIZES = {
    "shorted": (0.1, 100.0),
    "leaking": (1e3, 1e5),
    "resistive": (1e4, 1e6),
    "noisy": (1.15, 6.0),
    "flicker": (1.3, 5.0),
    "popcorn": (6.0, 15.0),
    "one_sided": (0.2, 2.2),
    "flat": (1.5, 2.3),
    "wrong_rate": (0.008, 0.12),
    "lost_packet": (8, 300),
    "repeated_packet": (8, 300),
    "dead": (0.001, 0.05),
}
"""Smallest and largest size: see ``Ailment``. Noisy and flicker: times the limit; popcorn: times
the noise; one-sided: standard deviations of the trace above its middle; packets: samples.
"""
