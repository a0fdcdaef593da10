"""How big and how long a capture file may be, checked before anything is parsed."""

from __future__ import annotations

from pathlib import Path

from readiness.signal.errors import CaptureRefused

MAX_BYTES = 32 * 1024 * 1024
MAX_CHANNELS = 64
MAX_RATE_HZ = 20_000.0
LOWEST_RATE_HZ = 250.0
"""A capture must be faster than this: the judged band ends at 0.4 x rate, and at 250 Hz that is 100
Hz, the foot of the training band (100-200 Hz), so nothing of the band the lesson looks at would be
left.
"""
SHORTEST_S = 9.7
LONGEST_S = 10.5
WINDOW_S = 10.0
MAX_VALUES = 2_000_000
"""Numbers in one file, all channels together: three channels at 20 kHz for 33 s, 64 channels at 3
kHz for 10 s. It bounds time and memory: 16 MB as float64, several times that while a text is being
read.
"""


def read_bytes(path: str) -> bytes:
    """Read a capture file whose size has been checked first.

    Raises
    ------
    CaptureRefused
        The path is no regular file, cannot be read, or is larger than ``MAX_BYTES``.
    """
    place = Path(path)
    try:
        if not place.is_file():
            raise CaptureRefused(
                f"{place.name or path} is not a file. Name a capture file (CSV, TSV, TXT, EDF,"
                " BDF, WAV, or a .hea with its .dat)."
            )
        check_size(place.stat().st_size)
        with place.open("rb") as stream:
            data = stream.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        if isinstance(error, CaptureRefused):
            raise
        reason = getattr(error, "strerror", None) or str(error)
        raise CaptureRefused(
            f"{place.name or path} cannot be read: {reason}. Copy it to another folder and try"
            " again."
        ) from error
    check_size(len(data))
    return data


def check_size(count: int) -> None:
    """Refuse an empty file and one above ``MAX_BYTES``."""
    if count == 0:
        raise CaptureRefused(
            "The file is empty. Save the capture again and upload it once the program has"
            " closed it."
        )
    if count > MAX_BYTES:
        raise CaptureRefused(
            f"The file has {count / 2**20:.1f} MiB; at most {MAX_BYTES // 2**20} MiB are read. Save"
            " ten seconds only."
        )


def check_channels(count: int) -> None:
    """Refuse more than ``MAX_CHANNELS`` columns or signals."""
    if count > MAX_CHANNELS:
        raise CaptureRefused(
            f"The file has {count} channels; at most {MAX_CHANNELS} are read. Export only those"
            " of the kit."
        )


def check_values(count: int) -> None:
    """Refuse more than ``MAX_VALUES`` numbers."""
    if count > MAX_VALUES:
        raise CaptureRefused(
            f"The file holds {count:,} numbers; at most {MAX_VALUES:,} are read. Save only the ten"
            " seconds and the channels of the kit."
        )


def check_rate(rate_hz: float, what: str = "The capture", *, most_hz: float = MAX_RATE_HZ) -> None:
    """Refuse rates above ``most_hz``, and such as cannot be."""
    if not 0.0 < rate_hz < float("inf"):
        raise CaptureRefused(
            f"{what} has a rate of {rate_hz:g} Hz, which cannot be. Export the capture again, with"
            " the rate it was recorded at.",
            missing="rate",
        )
    if rate_hz > most_hz:
        raise CaptureRefused(
            f"{what} has a rate of {rate_hz:g} Hz; at most {most_hz:g} Hz are read. Set"
            " the recording program to a lower rate (1000 Hz or more is usual)."
        )


def check_rate_can_be_judged(rate_hz: float) -> None:
    """Refuse a rate of the judged channel whose band ends below the training band."""
    if rate_hz <= LOWEST_RATE_HZ:
        raise CaptureRefused(
            f"At {rate_hz:g} Hz the capture ends at {0.4 * rate_hz:.0f} Hz and holds nothing of the"
            f" band above 100 Hz that is trained. Record again at more than {LOWEST_RATE_HZ:g} Hz"
            " (1000 Hz or more is usual)."
        )
