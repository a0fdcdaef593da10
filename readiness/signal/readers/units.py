"""Units as capture files write them, and what they are in the units Kitdesk computes in."""

from __future__ import annotations

import re
from dataclasses import dataclass

from readiness.signal.errors import CaptureRefused

from .quoting import quoted


@dataclass(frozen=True)
class Unit:
    """A unit that can be converted. ``factor`` leads to microvolts (``voltage``) or seconds
    (``time``).
    """

    text: str
    kind: str
    factor: float


MICRO_SIGNS = ("µ", "μ")
"""U+00B5 micro sign and U+03BC Greek small letter mu."""

_KNOWN = {
    "V": Unit("V", "voltage", 1e6),
    "mV": Unit("mV", "voltage", 1e3),
    "uV": Unit("uV", "voltage", 1.0),
    "nV": Unit("nV", "voltage", 1e-3),
    "s": Unit("s", "time", 1.0),
    "ms": Unit("ms", "time", 1e-3),
    "us": Unit("us", "time", 1e-6),
}
_SPELLINGS = {
    **dict.fromkeys(("v", "volt", "volts"), "V"),
    **dict.fromkeys(("mv", "millivolt", "millivolts"), "mV"),
    **dict.fromkeys(("uv", "microvolt", "microvolts"), "uV"),
    **dict.fromkeys(("nv", "nanovolt", "nanovolts"), "nV"),
    **dict.fromkeys(("sec", "secs", "second", "seconds"), "s"),
    **dict.fromkeys(("msec", "millisecond", "milliseconds"), "ms"),
    **dict.fromkeys(("usec", "microsecond", "microseconds"), "us"),
}
_COUNTS = {
    "count",
    "counts",
    "lsb",
    "raw",
    "adc",
    "adu",
    "digit",
    "digits",
    "code",
    "codes",
    "steps",
}
_BRACKETED = re.compile(
    r"^(?P<name>.*?)\s*[\(\[\{]\s*(?P<unit>[^\(\)\[\]\{\}]{1,24}?)\s*[\)\]\}]\s*$"
)
_TAILED = re.compile(r"^(?P<name>.*?)(?P<gap>[\s_/,:;.-]+)(?P<unit>[^\s_/,:;.-]{1,12})$")


def find_unit(text: str) -> Unit | None:
    """The unit a text stands for, or ``None``. ``MV`` is megavolt by its letters and stands for
    nothing here.
    """
    plain = _bare(text)
    for sign in MICRO_SIGNS:
        plain = plain.replace(sign, "u")
    if plain in _KNOWN:
        return _KNOWN[plain]
    spelled = _SPELLINGS.get(plain.lower())
    if spelled is None or (plain.startswith("M") and len(plain) <= 3):
        return None
    return _KNOWN[spelled]


def same_unit(first: str, second: str) -> bool:
    """Whether two texts stand for one unit, however they spell it."""
    unit = find_unit(first)
    if unit is not None:
        return unit == find_unit(second)
    return find_unit(second) is None and _bare(first).casefold() == _bare(second).casefold()


def is_ambiguous(text: str) -> bool:
    """Whether a text may stand for a unit of voltage or not, so that the operator is asked:
    ``MV``.
    """
    return find_unit(text) is None and _bare(text).lower() == "mv"


def is_counts(text: str) -> bool:
    """Whether a unit text names converter counts, which are no unit of voltage."""
    return _bare(text).lower() in _COUNTS


def split_label(label: str) -> tuple[str, str]:
    """Part ``"emg (uV)"``, ``"EMG [mV]"``, ``"emg_mV"`` or ``"t_s"`` into name and unit text, which
    may be empty.
    """
    text = label.strip()
    bracketed = _BRACKETED.match(text)
    if bracketed:
        return bracketed["name"].strip(), bracketed["unit"].strip()
    tailed = _TAILED.match(text)
    if tailed and tailed["name"] and _is_unit(tailed["unit"]):
        return tailed["name"].strip(), tailed["unit"]
    return text, ""


def _is_unit(text: str) -> bool:
    return find_unit(text) is not None or is_counts(text) or is_ambiguous(text)


def voltage_unit(text: str, where: str) -> Unit:
    """The voltage unit a text stands for.

    Raises
    ------
    CaptureRefused
        ``missing="unit"`` if the text is empty, names converter counts, or is no unit of voltage.
    """
    unit = find_unit(text)
    if unit is not None and unit.kind == "voltage":
        return unit
    answer = "Give it as a header line '# unit: uV' (V, mV, uV or nV), on screen, or with --unit."
    if not text.strip():
        raise CaptureRefused(
            f"No unit: {where} does not say in which unit it counts.", missing="unit", answer=answer
        )
    if is_counts(text):
        raise CaptureRefused(
            f"No unit: {where} is in converter counts ({quoted(text)}), which are no voltage.",
            missing="unit",
            answer=answer,
        )
    if is_ambiguous(text):
        raise CaptureRefused(
            f"No unit: {where} has the unit {quoted(text)}, which is megavolts by its letters and"
            " hardly meant.",
            missing="unit",
            answer="Say with --unit mV that it is millivolts, or which unit it is.",
        )
    raise CaptureRefused(
        f"No unit: {where} has the unit {quoted(text)}, which is no voltage.",
        missing="unit",
        answer=answer,
    )


def _bare(text: str) -> str:
    return text.strip().strip("()[]{}").strip()
