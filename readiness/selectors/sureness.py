"""How sure a kit's verdict is: the chance that a fault of each kind would have been seen in its
captures.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from readiness.models import Capture
from readiness.selectors.rounds import verdict_of
from readiness.signal.catalogue import CATALOGUE, NOISE_TEST
from readiness.signal.chances import FAST_HZ, Chance, chances, room_of

NAMED = 3
"""So many of the faults that are missed most are named at once; the rest can be unfolded."""
ROOM_WORDS = {"quiet": "a quiet room", "ordinary": "an ordinary room", "loud": "a loud room"}
RATE_WORDS = {True: f"{FAST_HZ:,.0f} Hz or more", False: f"less than {FAST_HZ:,.0f} Hz"}


@dataclass(frozen=True)
class Sureness:
    """``captures`` in words, and the chances, the least first."""

    captures: str
    chances: tuple[Chance, ...]

    @property
    def least(self) -> tuple[Chance, ...]:
        """The faults that would have been seen least."""
        return self.chances[:NAMED]


def sureness(counted: Sequence[Capture]) -> Sureness | None:
    """How sure the captures that count are; ``None`` where none was scored, or the study knows
    nothing of such a choice of tests.
    """
    results = {
        capture.test: verdict.result for capture in counted if (verdict := verdict_of(capture))
    }
    rates = [result["rate_hz"] for result in results.values() if result.get("rate_hz")]
    if not rates:
        return None
    hum = _hum_uv(results.get(NOISE_TEST))
    tests = tuple(test for test in CATALOGUE if test in results)
    found = chances(tests, min(rates), hum)
    return Sureness(_words(tests, min(rates), hum), found) if found else None


def _hum_uv(result: dict[str, Any] | None) -> float | None:
    rows = result.get("measurements", []) if result else []
    return next((row["value"] for row in rows if row["name"] == "mains_rms"), None)


def _words(tests: tuple[str, ...], rate_hz: float, hum_uv: float | None) -> str:
    done = ", ".join(tests)
    rate = RATE_WORDS[rate_hz >= FAST_HZ]
    room = f"; {_room_words(hum_uv)}" if hum_uv is not None else ""
    return f"{done}; {rate}{room}"


def _room_words(hum_uv: float) -> str:
    return f"hum of {hum_uv:.2g} µV on the bar, as in {ROOM_WORDS[room_of(hum_uv)]}"
