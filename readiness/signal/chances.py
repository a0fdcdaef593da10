"""How often a fault of each kind would have been seen in captures like these.

The counts stand in ``chances.json``: many simulated kits with a known fault each, scored by the
method of the version named there (``manage.py study --write-chances``).
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from readiness.signal.catalogue import CATALOGUE
from readiness.signal.statistics.shares import Share

TABLE = Path(__file__).with_name("chances.json")
QUIET_UV = 0.3
LOUD_UV = 3.0
"""Hum of the bar in ``still``: a model's room that hums less is as quiet as its noise, and one that
hums more shows an open ground at once.
"""
FAST_HZ = 1000.0
"""From this rate on the whole band is judged, or most of it."""
ENOUGH = 30
"""With fewer kits of a kind a share says little: then those of every room are taken together."""
FAULT_WORDS = {
    "open_lead": "an open lead",
    "intermittent_lead": "a lead that opens when bent",
    "leads_shorted": "leads that touch inside the cable",
    "dead_channel": "a dead channel",
    "saturated": "a channel stuck at its end",
    "stuck_bits": "a converter with stuck bits",
    "clipped": "a trace cut off on one side",
    "excess_noise": "too much noise",
    "low_frequency_noise": "slow noise of the amplifier",
    "burst_noise": "noise in bursts",
    "resistive_lead": "a lead that weakens when bent",
    "leaking_leads": "leads whose insulation leaks",
    "swapped_sockets": "an active lead and the ground in each other's socket",
    "battery_low": "a battery too low",
    "battery_sagging": "a battery that sags",
}


@dataclass(frozen=True)
class Chance:
    """Of kits with one kind of fault, how many would not have passed.

    ``fault`` in words, as ``an open lead A``; ``seen`` with its exact 95 % interval; ``everywhere``
    where too few kits of this room and rate were tried, so that all of them count.
    """

    fault: str
    seen: Share
    everywhere: bool = False

    @property
    def of_hundred(self) -> int:
        """How many of a hundred, to the nearest below."""
        return int(100 * self.seen.value)

    @property
    def lowest(self) -> int:
        """Lower end of the interval, to the nearest below."""
        return int(100 * self.seen.interval[0])

    @property
    def highest(self) -> int:
        """Upper end of the interval, to the nearest above."""
        return -int(-100 * self.seen.interval[1] // 1)


def room_of(hum_uv: float) -> str:
    """The kind of room by the hum of its bar in ``still``, microvolts RMS."""
    if hum_uv < QUIET_UV:
        return "quiet"
    return "ordinary" if hum_uv < LOUD_UV else "loud"


def speed_of(rate_hz: float) -> str:
    """``fast`` where the rate leaves most of the band, else ``slow``."""
    return "fast" if rate_hz >= FAST_HZ else "slow"


def key_of_tests(tests: Iterable[str]) -> str:
    """The tests done, in bench order, as one word."""
    done = set(tests)
    return "+".join(test for test in CATALOGUE if test in done)


def fault_in_words(label: str) -> str:
    """A row of the study in words: ``open_lead A`` is ``an open lead A``."""
    kind, _, lead = label.partition(" ")
    words = FAULT_WORDS.get(kind, kind.replace("_", " "))
    if not lead:
        return words
    named = f"{lead} lead" if lead == "ground" else f"lead {lead}"
    return words.replace("lead", named, 1)


@lru_cache(maxsize=1)
def table() -> dict[str, Any]:
    """The stored counts, with the version of the method that made them."""
    stored: dict[str, Any] = json.loads(TABLE.read_text(encoding="utf-8"))
    return stored


def chances(tests: Iterable[str], rate_hz: float, hum_uv: float | None) -> tuple[Chance, ...]:
    """Chance of each kind of fault to be seen, the least first.

    Parameters
    ----------
    tests : iterable of str
        The tests done; those the table does not know give no chances at all.
    rate_hz : float
        Samples per second of the slowest capture.
    hum_uv : float or None
        Hum of the bar in ``still``, microvolts RMS; ``None`` where it was not recorded.
    """
    key = key_of_tests(tests)
    here = (speed_of(rate_hz), room_of(hum_uv) if hum_uv is not None else "")
    found = [_chance(label, rows, here) for label, rows in table()["seen"].get(key, {}).items()]
    return tuple(sorted(found, key=lambda chance: (chance.seen.value, chance.fault)))


def _chance(label: str, rows: dict[str, list[int]], here: tuple[str, str]) -> Chance:
    words = fault_in_words(label)
    near = _sum(row for name, row in rows.items() if name == " ".join(here))
    if near.total >= ENOUGH:
        return Chance(words, near)
    return Chance(words, _sum(iter(rows.values())), everywhere=True)


def _sum(rows: Iterator[list[int]]) -> Share:
    pairs = list(rows)
    return Share(sum(hits for hits, _ in pairs), sum(total for _, total in pairs))
