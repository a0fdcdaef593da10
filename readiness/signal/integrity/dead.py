"""Traces in which nothing is measured: constant, two-valued, or dithering by one code."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from readiness.signal.capture import Channel, Note
from readiness.signal.counts import counted

PROBED = 2000
"""A trace that takes more than three values in its first samples is not dead."""


def check_dead(samples: np.ndarray, emg: Channel) -> Iterator[Note]:
    """A channel that is dead as a whole (``dead_channel``).

    Three neighbouring codes are dead when their spread is below LSB/sqrt(12), the rounding noise of
    the converter (Widrow; Bennett 1948): then whatever stands at the input is less than what cannot
    be told from nothing.

    Parameters
    ----------
    samples : numpy.ndarray
        Shape (n,), n > 0, microvolts, finite.
    emg : Channel
        Where they come from, for its name.
    """
    if len(np.unique(samples[:PROBED])) > 3:
        return
    values = np.unique(samples)
    subject = f"{counted(len(samples), 'sample', 'samples')} of {emg.label!r}"
    if len(values) == 1:
        text = f"All {subject} are {values[0]:.6g} uV: nothing is measured."
        yield Note("dead_channel", text)
    elif len(values) == 2:
        text = f"The {subject} take two values only, {values[0]:.6g} and {values[1]:.6g} uV."
        yield Note("dead_channel", text)
    elif len(values) == 3 and _dithers(samples, values):
        step = float(np.diff(values).min())
        text = f"The {subject} dither by one code of {step:.4g} uV: quieter than any real input."
        yield Note("dead_channel", text)


def _dithers(samples: np.ndarray, values: np.ndarray) -> bool:
    """Whether three values are neighbouring codes, and nearly all samples the same one."""
    steps = np.diff(values)
    step = float(steps.min())
    neighbours = float(steps.max()) < 1.5 * step
    return neighbours and float(samples.std()) < step / np.sqrt(12.0)
