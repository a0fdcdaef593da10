"""EDF and BDF files built byte by byte from the published layout, so that no writer's habits get
in.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

WIDTHS = (16, 80, 8, 8, 8, 8, 8, 80, 8, 32)


@dataclass(frozen=True)
class Signal:
    """One signal: header texts, and codes of shape (records, samples a record) or raw bytes for
    annotations.
    """

    codes: np.ndarray | list[bytes]
    label: str = "EMG"
    unit: str = "uV"
    pmin: str = "-500"
    pmax: str = "500"
    dmin: str = "-2048"
    dmax: str = "2047"
    samples: str = ""

    def stated_samples(self, width: int) -> str:
        if self.samples:
            return self.samples
        return str(len(self.codes[0]) // (width if isinstance(self.codes, list) else 1))


@dataclass(frozen=True)
class File:
    """A whole file; every header field is text, so that it can lie."""

    signals: tuple[Signal, ...]
    recording: str = "Startdate 25-NOV-2026 X X X test=still kit=KD-1"
    version: bytes = b"0       "
    reserved: str = ""
    records: str = ""
    duration: str = "1"
    count: str = ""
    header_bytes: str = ""
    day: str = "25.11.26"
    clock: str = "09.30.00"

    def to_bytes(self) -> bytes:
        width = 3 if self.version[:1] == b"\xff" else 2
        n = len(self.signals)
        records = len(self.signals[0].codes)
        head = (
            self.version + _field("X X X X", 80) + _field(self.recording, 80) + _field(self.day, 8)
        )
        head += (
            _field(self.clock, 8)
            + _field(self.header_bytes or str(256 * (n + 1)), 8)
            + _field(self.reserved, 44)
        )
        head += (
            _field(self.records or str(records), 8)
            + _field(self.duration, 8)
            + _field(self.count or str(n), 4)
        )
        texts = [
            (s.label, "", s.unit, s.pmin, s.pmax, s.dmin, s.dmax, "", s.stated_samples(width), "")
            for s in self.signals
        ]
        for position, size in enumerate(WIDTHS):
            head += b"".join(_field(text[position], size) for text in texts)
        return head + b"".join(
            _record(s.codes[i], width) for i in range(records) for s in self.signals
        )

    def with_signal(self, **changes: object) -> File:
        """The same file with changes to its first signal."""
        return replace(self, signals=(replace(self.signals[0], **changes), *self.signals[1:]))


def noise_file(records: int = 10, rate: int = 500, seed: int = 1, **changes: object) -> File:
    """Ten seconds of noise in one signal."""
    codes = np.random.default_rng(seed).normal(0, 20, (records, rate)).round().astype(int)
    return File((Signal(codes),), **changes)


def timed_file(onsets: list[float], rate: int = 500, **changes: object) -> File:
    """A file with an annotation signal that says when each record began."""
    plain = noise_file(len(onsets), rate)
    stamps = [f"+{onset:g}\x14\x14\x00".encode().ljust(30, b"\x00") for onset in onsets]
    marks = Signal(
        stamps, label="EDF Annotations", unit="", pmin="-1", pmax="1", dmin="-32768", dmax="32767"
    )
    return replace(plain, signals=(*plain.signals, marks), **{"reserved": "EDF+D", **changes})


def _field(text: str, size: int) -> bytes:
    return text.encode("latin-1").ljust(size)[:size]


def _record(codes: np.ndarray | bytes, width: int) -> bytes:
    if isinstance(codes, bytes):
        return codes
    wide = np.asarray(codes).astype("<i4")
    return wide.view(np.uint8).reshape(-1, 4)[:, :width].tobytes()
