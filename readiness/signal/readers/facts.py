"""Facts a capture file states about itself, and how they meet what the operator says."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from readiness.signal.capture import TESTS, Declared
from readiness.signal.errors import CaptureRefused

from .quoting import quoted
from .units import find_unit, voltage_unit

KEYS = ("kit", "test", "rate_hz", "unit", "resolution", "range", "mains_hz", "battery_v", "taken")
_NUMBER = re.compile(r"[+-]?(\d{1,18}([.,]\d{0,18})?|[.,]\d{1,18})([eE][+-]?\d{1,3})?\Z")
_RANGE = re.compile(
    r"^\s*(?P<low>[+-]?[\d.,eE]+)\s*(?:\.\.+|to|;|/|:|\s)\s*(?P<high>[+-]?[\d.,eE+-]+)\s*$"
)


@dataclass(frozen=True)
class Facts:
    """Header facts of a file as values; ``None`` where it is silent.

    ``resolution`` and ``full_scale`` are in ``unit`` (the unit of the EMG column), as written.
    """

    kit: str | None = None
    test: str | None = None
    rate_hz: float | None = None
    unit: str | None = None
    resolution: float | None = None
    full_scale: tuple[float, float] | None = None
    mains_hz: float | None = None
    battery_v: float | None = None
    taken: datetime | None = None


def parse_facts(words: Mapping[str, str]) -> Facts:
    """Turn header texts into values; keys outside ``KEYS`` are left alone.

    Raises
    ------
    CaptureRefused
        A value that is not what its key needs, with key and value.
    """
    said = {key: words[key].strip() for key in KEYS if words.get(key, "").strip()}
    return Facts(
        kit=_kit(said["kit"]) if "kit" in said else None,
        test=_test(said["test"]) if "test" in said else None,
        rate_hz=_positive("rate_hz", said["rate_hz"]) if "rate_hz" in said else None,
        unit=said.get("unit"),
        resolution=_positive("resolution", said["resolution"]) if "resolution" in said else None,
        full_scale=_full_scale(said["range"]) if "range" in said else None,
        mains_hz=_mains(said["mains_hz"]) if "mains_hz" in said else None,
        battery_v=_battery(said["battery_v"]) if "battery_v" in said else None,
        taken=_taken(said["taken"]) if "taken" in said else None,
    )


def merge(facts: Facts, declared: Declared) -> Facts:
    """Fill what the file leaves open with what the operator says.

    Raises
    ------
    CaptureRefused
        File and operator both speak and differ; the sentence names both.
    """
    pairs = {
        "kit": (facts.kit, declared.kit, "--kit"),
        "test": (facts.test, _test(declared.test) if declared.test else None, "--test"),
        "rate_hz": (facts.rate_hz, declared.rate_hz, "--rate"),
        "unit": (facts.unit, declared.unit, "--unit"),
        "mains_hz": (facts.mains_hz, declared.mains_hz, "--mains"),
        "battery_v": (facts.battery_v, declared.battery_v, "--battery"),
    }
    chosen: dict[str, Any] = {
        key: agree(key, said, given) for key, (said, given, _) in pairs.items()
    }
    return Facts(
        resolution=facts.resolution, full_scale=facts.full_scale, taken=facts.taken, **chosen
    )


def agree(key: str, said: object, given: object) -> object:
    """One fact from file (``said``) and operator (``given``); refuses when both speak and
    differ.
    """
    if said is None or given is None:
        return given if said is None else said
    if _same(key, said, given):
        return said
    raise CaptureRefused(
        f"The file says {key} is {_shown(said)}, the operator says {_shown(given)}. Correct the one"
        " that is wrong.",
        missing="",
    )


def need_test(test: str | None) -> str:
    """The test kind, or a refusal with ``missing="test"``."""
    if test:
        return test
    raise CaptureRefused(
        f"No test kind: the file does not say which test was made ({', '.join(TESTS)}). Give it as"
        " a header line '# test: still', in the file's name on screen, or with --test.",
        missing="test",
    )


def number(text: str) -> float | None:
    """A plain decimal number with point or comma, or ``None``."""
    plain = text.strip()
    if len(plain) > 48 or not _NUMBER.match(plain):
        return None
    value = float(plain.replace(",", "."))
    return value if math.isfinite(value) else None


def _same(key: str, said: object, given: object) -> bool:
    if isinstance(said, float) and isinstance(given, int | float):
        return math.isclose(said, given, rel_tol=1e-6)
    if key == "unit":
        return find_unit(str(said)) == find_unit(str(given)) and find_unit(str(said)) is not None
    return str(said).strip().casefold() == str(given).strip().casefold()


def _shown(value: object) -> str:
    return f"{value:g}" if isinstance(value, int | float) else quoted(str(value))


def _kit(text: str) -> str:
    if len(text) > 64 or not text.isprintable():
        raise CaptureRefused(f"The header key kit holds {quoted(text)}, which is no kit code.")
    return text


def _test(text: str) -> str:
    kind = text.strip().lower()
    if kind not in TESTS:
        raise CaptureRefused(
            f"{quoted(text)} is no test; the tests are {', '.join(TESTS)}.", missing="test"
        )
    return kind


def _positive(key: str, text: str) -> float:
    first, *rest = text.split()
    value = number(first)
    if value is None or value <= 0.0 or len(rest) > 1:
        raise CaptureRefused(
            f"The header key {key} holds {quoted(text)}; it takes a number above zero."
        )
    if rest and not _unit_fits(key, rest[0]):
        raise CaptureRefused(f"The header key {key} holds {quoted(text)}; write the number alone.")
    return value


def _unit_fits(key: str, text: str) -> bool:
    return key in ("rate_hz", "mains_hz") and text.lower() == "hz"


def _full_scale(text: str) -> tuple[float, float]:
    single = number(text.lstrip("±").removeprefix("+-").removeprefix("+/-"))
    if single is not None and single > 0.0:
        return -single, single
    pair = _RANGE.match(text)
    low, high = (number(pair["low"]), number(pair["high"])) if pair else (None, None)
    if low is None or high is None or low >= high:
        raise CaptureRefused(
            f"The header key range holds {quoted(text)}; it takes the full scale as one number, or"
            " low..high."
        )
    return low, high


def _mains(text: str) -> float:
    value = _positive("mains_hz", text)
    if not 45.0 <= value <= 65.0:
        raise CaptureRefused(f"The header key mains_hz holds {quoted(text)}; mains is 50 or 60 Hz.")
    return value


def _battery(text: str) -> float:
    first, *rest = text.split()
    value = number(first)
    unit = voltage_unit(rest[0], "The header key battery_v") if rest else None
    if value is None or len(rest) > 1 or (unit is not None and unit.text != "V"):
        raise CaptureRefused(
            f"The header key battery_v holds {quoted(text)}; it takes a number of volts."
        )
    return value


def _taken(text: str) -> datetime:
    try:
        return datetime.fromisoformat(text)
    except ValueError as error:
        raise CaptureRefused(
            f"The header key taken holds {quoted(text)}; it takes an ISO 8601 time such as"
            " 2026-11-25T09:30:00."
        ) from error
