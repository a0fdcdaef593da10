"""The packed whole numbers of WFDB signal files, taken apart by NumPy."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Packed:
    """A form of ``samples`` numbers in ``size`` bytes; ``lacking`` stands where there is none."""

    samples: int
    size: int
    unpack: Callable[[np.ndarray], np.ndarray]
    lacking: int | None

    def samples_in(self, count: int) -> int:
        """How many samples ``count`` bytes hold."""
        whole, rest = divmod(count, self.size)
        return whole * self.samples + rest * self.samples // self.size


def samples_of(data: bytes, form: Packed, count: int) -> np.ndarray:
    """The first ``count`` samples; shape (count,), int64."""
    groups = -(-count // form.samples)
    packed = np.zeros(groups * form.size, dtype=np.uint8)
    part = np.frombuffer(data[: len(packed)], dtype=np.uint8)
    packed[: len(part)] = part
    unpacked: np.ndarray = form.unpack(packed).astype(np.int64)[:count]
    return unpacked


def _signed(values: np.ndarray, bits: int) -> np.ndarray:
    half = 1 << (bits - 1)
    signed: np.ndarray = (values ^ half) - half
    return signed


def _of_24(data: np.ndarray) -> np.ndarray:
    low, middle, high = data.astype(np.int64).reshape(-1, 3).T
    return _signed(low | middle << 8 | high << 16, 24)


def _of_212(data: np.ndarray) -> np.ndarray:
    """Two samples of 12 bits in three bytes."""
    low, shared, high = data.astype(np.int64).reshape(-1, 3).T
    first, second = low | (shared & 0x0F) << 8, high | (shared & 0xF0) << 4
    return _signed(np.stack([first, second], axis=1).reshape(-1), 12)


def _of_310(data: np.ndarray) -> np.ndarray:
    """Three samples of 10 bits in two words: the upper bits of each word, then what is over."""
    first, second = data.view("<u2").astype(np.int64).reshape(-1, 2).T
    third = (first >> 11 & 0x1F) | (second >> 11 & 0x1F) << 5
    three = [first >> 1 & 0x3FF, second >> 1 & 0x3FF, third]
    return _signed(np.stack(three, axis=1).reshape(-1), 10)


def _of_311(data: np.ndarray) -> np.ndarray:
    """Three samples of 10 bits in a word of 32, lowest first."""
    words = data.view("<u4").astype(np.int64)
    three = [words >> shift & 0x3FF for shift in (0, 10, 20)]
    return _signed(np.stack(three, axis=1).reshape(-1), 10)


FORMATS = {
    16: Packed(1, 2, lambda data: data.view("<i2"), -(2**15)),
    24: Packed(1, 3, _of_24, -(2**23)),
    32: Packed(1, 4, lambda data: data.view("<i4"), -(2**31)),
    61: Packed(1, 2, lambda data: data.view(">i2"), -(2**15)),
    80: Packed(1, 1, lambda data: data.astype(np.int64) - 128, -128),
    160: Packed(1, 2, lambda data: data.view("<u2").astype(np.int64) - 2**15, -(2**15)),
    212: Packed(2, 3, _of_212, -(2**11)),
    310: Packed(3, 4, _of_310, -(2**9)),
    311: Packed(3, 4, _of_311, -(2**9)),
}
"""By the number that a header gives the form."""
