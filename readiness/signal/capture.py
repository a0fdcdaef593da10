"""A capture as every reader hands it over: channels in microvolts or volts, with what the file said
about itself.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

import numpy as np

from .catalogue import CATALOGUE
from .errors import CaptureRefused

ROLES = ("emg", "battery", "time", "other")
FEWEST_AT_RAIL = 4
"""Fewer samples at an end show no rail: some programs set a file's range to the extremes of its own
trace.
"""
PLACES_NAMED = 5
"""Notes of one kind name that many places; further ones are only counted."""


@dataclass(frozen=True, eq=False)
class Channel:
    """One signal of a capture.

    Attributes
    ----------
    label : str
        As the file names it.
    role : str
        One of ``ROLES``.
    unit : str
        The unit the file declared, as text (``"uV"``, ``"mV"``, ``"V"``, ``"s"``, ...).
    rate_hz : float
        Samples per second of this channel.
    samples : numpy.ndarray
        Shape (n,), float64, read-only. Role ``emg``: microvolts. Role ``battery``: volts. Role
        ``time``: seconds. Role ``other``: microvolts where the unit is a voltage, else the file's
        own unit. NaN where the file has no finite sample (an empty cell, a gap); every such place
        has a note ``missing_samples``.
    resolution : float or None
        Converter step in the unit of ``samples``, where the file declares it.
    full_scale : tuple of float or None
        Lowest and highest value the converter can give, in the unit of ``samples``, where declared.
    """

    label: str
    role: str
    unit: str
    rate_hz: float
    samples: np.ndarray
    resolution: float | None = None
    full_scale: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        if self.role not in ROLES:
            raise ValueError(f"role {self.role!r} is none of {', '.join(ROLES)}")
        samples = np.ascontiguousarray(self.samples, dtype=np.float64)
        if samples.ndim != 1:
            raise ValueError(f"samples have shape {samples.shape}, a channel takes one dimension")
        samples.flags.writeable = False
        object.__setattr__(self, "samples", samples)


@dataclass(frozen=True)
class Note:
    """Something a reader saw that a finding must tell (gap, odd time base, trailing bytes).

    ``code`` is one of the finding codes (``missing_samples``, ``time_base``, ``wrong_scale``, ...);
    ``start_s`` and ``end_s`` place it in the capture where that makes sense.
    """

    code: str
    text: str
    start_s: float | None = None
    end_s: float | None = None


@dataclass(frozen=True, eq=False)
class Recording:
    """A capture file, read. ``emg`` is the channel to judge; the header facts are ``None`` where
    the file is silent.
    """

    file: str
    channels: tuple[Channel, ...]
    emg: Channel
    rate_hz: float
    kit: str | None = None
    test: str | None = None
    mains_hz: float | None = None
    battery_v: np.ndarray | None = None
    """Battery voltage in volts under load: one header value (shape (1,)) or a channel (shape (n,)).
    """
    taken: datetime | None = None
    moved: bool = False
    """Whether the operator confirms that each lead was moved through its window."""
    notes: tuple[Note, ...] = field(default_factory=tuple)
    converted: Channel | None = None
    """Where a reader decimated the EMG: samples in their place as the converter gave them."""
    recorded_hz: float | None = None
    """The rate before it was decimated."""

    @property
    def duration_s(self) -> float:
        """Length of the judged channel in seconds."""
        return len(self.emg.samples) / self.rate_hz


@dataclass(frozen=True)
class Declared:
    """What the operator says for a file that does not say it itself (``--test``, ``--rate``,
    ``--unit``, ...).

    A fact in the file wins; where both speak and differ, the reader refuses and names both.
    ``window_start_s`` picks the ten seconds of a longer capture. ``columns`` is a column map (see
    readers); ``emg_column``, ``time_column`` and ``battery_column`` name columns of this one file.
    ``full_scale_uv`` is the voltage at full scale of a file of fractions, in microvolts (a sound
    recording). ``moved``: each lead was moved through its window, by the operator's word. With
    ``test_follows`` a file is read that does not say its test: it is said later,
    when the capture is scored.
    """

    test: str | None = None
    rate_hz: float | None = None
    unit: str | None = None
    mains_hz: float | None = None
    battery_v: float | None = None
    kit: str | None = None
    window_start_s: float | None = None
    columns: object | None = None
    emg_column: str | None = None
    time_column: str | None = None
    battery_column: str | None = None
    full_scale_uv: float | None = None
    moved: bool = False
    test_follows: bool = False


def need_test(test: str | None) -> str:
    """The test that a capture is of, as file or operator say.

    Raises
    ------
    CaptureRefused
        ``missing="test"``: neither says it.
    """
    if test is not None and test in CATALOGUE:
        return test
    names = ", ".join(CATALOGUE)
    raise CaptureRefused(
        f"No test kind: the file does not say which test was made ({names}).",
        missing="test",
        answer=(
            "Give it as a header line '# test: still', in the file's name on screen, or with"
            " --test."
        ),
    )
