"""Capture files of known content for the reader tests."""

from __future__ import annotations

import numpy as np

RATE = 500.0
COUNT = 5000


def trace(count: int = COUNT, seed: int = 1, step: float = 0.25) -> np.ndarray:
    """White noise of 3 uV on a converter step, so that every dialect can write it exactly."""
    return np.rint(np.random.default_rng(seed).normal(0.0, 3.0, count) / step) * step


def rows(*columns: np.ndarray, delimiter: str = ",", form: str = "%.4f") -> str:
    """Rows of numbers."""
    return "\n".join(
        delimiter.join(form % value for value in row) for row in zip(*columns, strict=True)
    )


def own_form(body: str, **facts: object) -> bytes:
    """Header lines and a body; the facts of a sound file unless told otherwise (``None`` leaves a
    key out).
    """
    said = {"kit": "KD-1", "test": "still", "rate_hz": 500, "unit": "uV", **facts}
    return (
        "".join(f"# {k}: {v}\n" for k, v in said.items() if v is not None) + body + "\n"
    ).encode()


def sound(**facts: object) -> bytes:
    """A sound file of one column in Kitdesk's form."""
    return own_form("emg\n" + rows(trace()), **facts)
