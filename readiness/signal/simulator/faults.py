"""What can be wrong with a kit, a file or a set-up, with a severity each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from readiness.signal.catalogue import LEADS

PAIRS = ("A+B", "A+ground", "B+ground")

KIT_FAULTS = (
    "open_lead",
    "intermittent_lead",
    "leads_shorted",
    "dead_channel",
    "saturated",
    "stuck_bits",
    "clipped",
    "excess_noise",
    "low_frequency_noise",
    "burst_noise",
    "battery_low",
    "battery_sagging",
    "resistive_lead",
    "leaking_leads",
    "swapped_sockets",
)
FILE_FAULTS = ("battery_missing", "wrong_scale", "missing_samples", "time_base")
TROUBLES = (
    "bench_interference",
    "not_on_bar",
    "worn_not_shorted",
    "moved_too_early",
    "wrong_order",
    "friction_spikes",
)
LEAD_KINDS = ("open_lead", "intermittent_lead", "resistive_lead")
"""Faults of one lead."""
PAIRS_OF = {"leads_shorted": PAIRS, "leaking_leads": PAIRS, "swapped_sockets": PAIRS[1:]}
"""Faults of two leads, and the pairs there are; A and B swapped only turn the sign."""
CODE_OF = {
    "resistive_lead": "intermittent_lead",
    "leaking_leads": "leads_shorted",
    "swapped_sockets": "wrong_order",
    "friction_spikes": "burst_noise",
}
"""The finding that speaks of a kind, where it has another name."""
KINDS = KIT_FAULTS + FILE_FAULTS + TROUBLES
BETWEEN_OR_BENT = {
    "leads_shorted": (0.001, 0.5),
    "leaking_leads": (1.0, 100.0),
    "resistive_lead": (10.0, 1000.0),
    "swapped_sockets": (1.0, 1.0),
}
"""Kilohm from which faults between leads, or of a bent one, are drawn."""
COUNTED = ("missing_samples", "burst_noise", "friction_spikes")


@dataclass(frozen=True)
class Fault:
    """One fault or trouble; ``kind`` is the finding code that speaks of it, or has it in
    ``CODE_OF``.

    ``severity`` by kind:
    open_lead, series resistance in megohm (``inf``: broken); intermittent_lead, seconds of each
    open; leads_shorted, kilohm between the two; dead_channel, part of the signal still passed;
    saturated, offset in full scales (sign: which rail); stuck_bits, number of the bit from the
    lowest; clipped, distance of the resting point from the rail in noise RMS; excess_noise, times
    2 uV over 20 to 450 Hz; low_frequency_noise, RMS in uV below 20 Hz; burst_noise, step in uV;
    battery_low, volts under load; battery_sagging, volts lost in the capture; wrong_scale, factor;
    missing_samples, seconds lost; time_base, relative error; bench_interference, factor on the
    room; moved_too_early, seconds before the window; resistive_lead, highest kilohm while bent;
    leaking_leads, kilohm between the two; friction_spikes, picocoulomb that a bent cable lets go
    at once. ``lead`` is "A", "B", "ground", or a pair such as "A+B" for what lies between two.
    ``count`` is how often it happens. ``variant``: "pinned" for an open lead whose leakage drives
    the first stage to its stop, "high" for a bit stuck at one.
    """

    kind: str
    severity: float = 1.0
    lead: str | None = None
    count: int = 1
    variant: str = ""

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"fault {self.kind!r} is none of {', '.join(KINDS)}")
        if self.kind in LEAD_KINDS and self.lead not in LEADS:
            raise ValueError(f"{self.kind} needs lead A, B or ground, not {self.lead!r}")
        pairs = PAIRS_OF.get(self.kind)
        if pairs and self.lead not in pairs:
            raise ValueError(f"{self.kind} needs one of {', '.join(pairs)}, not {self.lead!r}")


def draw_fault(kind: str, rng: np.random.Generator, lead: str | None = None) -> Fault:
    """A fault of ``kind`` with its severity drawn from the range the trade meets (common
    practice).
    """

    def log(low: float, high: float) -> float:
        return float(np.exp(rng.uniform(np.log(low), np.log(high))))

    if kind == "open_lead":
        lead = lead or str(rng.choice(LEADS))
        pinned = lead != "ground" and rng.random() < 0.25
        ohm = float("inf") if pinned or rng.random() < 0.7 else log(20.0, 2000.0)
        return Fault(kind, ohm, lead, variant="pinned" if pinned else "")
    if kind == "intermittent_lead":
        return Fault(
            kind, log(0.001, 0.5), lead or str(rng.choice(LEADS)), count=int(rng.integers(1, 6))
        )
    if kind in BETWEEN_OR_BENT:
        kohm = log(*BETWEEN_OR_BENT[kind])
        lead = lead or str(rng.choice(PAIRS_OF.get(kind, LEADS)))
        return Fault(kind, kohm, lead, int(rng.integers(1, 6)) if kind in LEAD_KINDS else 1)
    sign = float(rng.choice((-1.0, 1.0)))
    severity = {
        "dead_channel": lambda: float(rng.choice((0.0, 0.0, 0.002, 0.01))),
        "saturated": lambda: sign * float(rng.uniform(1.02, 2.0)),
        "stuck_bits": lambda: float(rng.integers(0, 5)),
        "clipped": lambda: sign * float(rng.uniform(0.0, 1.5)),
        "excess_noise": lambda: log(1.05, 5.0),
        "low_frequency_noise": lambda: log(40.0, 300.0),
        "burst_noise": lambda: log(15.0, 80.0),
        "battery_low": lambda: float(rng.uniform(1.9, 2.43)),
        "battery_sagging": lambda: float(rng.uniform(0.2, 0.6)),
        "wrong_scale": lambda: float(rng.choice((1e-3, 1e3))),
        "missing_samples": lambda: log(0.01, 0.25),
        "time_base": lambda: sign * float(rng.uniform(0.015, 0.05)),
        "bench_interference": lambda: log(10.0, 60.0),
        "moved_too_early": lambda: float(rng.uniform(0.9, 2.0)),
        "friction_spikes": lambda: log(2.0, 50.0),
    }.get(kind, lambda: 1.0)()
    fewest, most = {"missing_samples": (1, 4), "friction_spikes": (1, 20)}.get(kind, (15, 120))
    count = int(rng.integers(fewest, most))
    variant = str(rng.choice(("", "high"))) if kind == "stuck_bits" else ""
    return Fault(
        kind,
        severity,
        count=count if kind in COUNTED else 1,
        variant=variant,
    )
