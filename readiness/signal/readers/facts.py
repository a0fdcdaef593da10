"""Facts a capture file states about itself, and how they meet what the operator says."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

from readiness.signal.capture import Declared
from readiness.signal.catalogue import CATALOGUE
from readiness.signal.errors import CaptureRefused

from .quoting import quoted
from .units import find_unit, is_ambiguous, same_unit, voltage_unit

KEYS = ("kit", "test", "rate_hz", "unit", "resolution", "range", "mains_hz", "battery_v", "taken")
LONGEST_KIT = 64
LONGEST_NUMBER = 48
MAINS_HZ = (45.0, 65.0)
_NUMBER = re.compile(r"[+-]?(\d{1,18}([.,]\d{0,18})?|[.,]\d{1,18})([eE][+-]?\d{1,3})?\Z")
_RANGE = re.compile(
    r"^\s*(?P<low>[+-]?[\d.,eE]+)\s*(?:\.\.+|to|;|/|:|\s)\s*(?P<high>[+-]?[\d.,eE+-]+)\s*$"
)
Fact = TypeVar("Fact", str, float)


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
    full_scale_uv: float | None = None


def parse_facts(words: Mapping[str, str]) -> Facts:
    """Turn header texts into values; keys outside ``KEYS`` are left alone.

    Raises
    ------
    CaptureRefused
        A value that is not what its key needs, with key and value.
    """
    texts = {key: words[key].strip() for key in KEYS if words.get(key, "").strip()}
    return Facts(
        kit=_kit(texts["kit"]) if "kit" in texts else None,
        test=_test(texts["test"]) if "test" in texts else None,
        rate_hz=_positive("rate_hz", texts["rate_hz"]) if "rate_hz" in texts else None,
        unit=texts.get("unit"),
        resolution=_positive("resolution", texts["resolution"]) if "resolution" in texts else None,
        full_scale=_full_scale(texts["range"]) if "range" in texts else None,
        mains_hz=_mains(texts["mains_hz"]) if "mains_hz" in texts else None,
        battery_v=_battery(texts["battery_v"]) if "battery_v" in texts else None,
        taken=_time_taken(texts["taken"]) if "taken" in texts else None,
    )


def merge(facts: Facts, declared: Declared) -> Facts:
    """Fill what the file leaves open with what the operator says.

    Raises
    ------
    CaptureRefused
        File and operator both speak and differ; the sentence names both.
    """
    declared_test = _test(declared.test) if declared.test else None
    return Facts(
        kit=agree("kit", facts.kit, declared.kit),
        test=agree("test", facts.test, declared_test),
        rate_hz=agree("rate_hz", facts.rate_hz, declared.rate_hz),
        unit=agree_on_unit("unit", facts.unit, declared.unit),
        resolution=facts.resolution,
        full_scale=facts.full_scale,
        mains_hz=agree("mains_hz", facts.mains_hz, declared.mains_hz),
        battery_v=agree("battery_v", facts.battery_v, declared.battery_v),
        taken=facts.taken,
        full_scale_uv=declared.full_scale_uv,
    )


def agree(key: str, in_file: Fact | None, answer: Fact | None) -> Fact | None:
    """One fact from the file and the operator's answer; refuses when both speak and differ."""
    if in_file is None or answer is None:
        return answer if in_file is None else in_file
    if _same(in_file, answer):
        return in_file
    raise _disagreement(key, in_file, answer)


def agree_on_unit(key: str, in_file: str | None, answer: str | None) -> str | None:
    """A unit text from the file and the operator's answer; spelling makes no difference.

    A file's ``MV`` may be megavolt or millivolt: there the answer is taken.
    """
    if not in_file or not answer:
        return in_file or answer
    if is_ambiguous(in_file) and find_unit(answer) is not None:
        return answer
    if same_unit(in_file, answer):
        return in_file
    raise _disagreement(key, in_file, answer)


def number(text: str) -> float | None:
    """A plain decimal number with point or comma, or ``None``."""
    plain = text.strip()
    if len(plain) > LONGEST_NUMBER or not _NUMBER.match(plain):
        return None
    value = float(plain.replace(",", "."))
    return value if math.isfinite(value) else None


def _same(first: str | float, second: str | float) -> bool:
    if isinstance(first, int | float) and isinstance(second, int | float):
        return math.isclose(first, second, rel_tol=1e-6)
    return str(first).strip().casefold() == str(second).strip().casefold()


def _disagreement(key: str, in_file: str | float, answer: str | float) -> CaptureRefused:
    return CaptureRefused(
        f"The file says {key} is {_in_words(in_file)}, the operator says {_in_words(answer)}."
        " Correct the one that is wrong."
    )


def _in_words(value: str | float) -> str:
    return f"{value:g}" if isinstance(value, int | float) else quoted(value)


def _kit(text: str) -> str:
    if len(text) > LONGEST_KIT or not text.isprintable():
        raise CaptureRefused(
            f"The header key kit holds {quoted(text)}, which is no kit code. Correct that line,"
            " or delete it."
        )
    return text


def _test(text: str) -> str:
    kind = text.strip().lower()
    if kind not in CATALOGUE:
        raise CaptureRefused(
            f"{quoted(text)} is no test; the tests are {', '.join(CATALOGUE)}.", missing="test"
        )
    return kind


def _positive(key: str, text: str) -> float:
    first, *rest = text.split()
    value = number(first)
    if value is None or value <= 0.0 or len(rest) > 1:
        raise CaptureRefused(
            f"The header key {key} holds {quoted(text)}; it takes a number above zero. Correct"
            " that line, or delete it."
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
            " low..high. Correct that line, or delete it."
        )
    return low, high


def _mains(text: str) -> float:
    value = _positive("mains_hz", text)
    if not MAINS_HZ[0] <= value <= MAINS_HZ[1]:
        raise CaptureRefused(
            f"The header key mains_hz holds {quoted(text)}; mains is 50 or 60 Hz. Correct that"
            " line, or delete it."
        )
    return value


def _battery(text: str) -> float:
    first, *rest = text.split()
    value = number(first)
    unit = voltage_unit(rest[0], "The header key battery_v") if rest else None
    if value is None or len(rest) > 1 or (unit is not None and unit.text != "V"):
        raise CaptureRefused(
            f"The header key battery_v holds {quoted(text)}; it takes a number of volts. Correct"
            " that line, or delete it."
        )
    return value


def _time_taken(text: str) -> datetime:
    try:
        return datetime.fromisoformat(text)
    except ValueError as error:
        raise CaptureRefused(
            f"The header key taken holds {quoted(text)}; it takes an ISO 8601 time such as"
            " 2026-11-25T09:30:00."
        ) from error
