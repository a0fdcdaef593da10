"""Whether a trace can be a measurement at all: checked before anything is measured.

Every check returns notes with a finding code; none raises for what is in the samples. Places where
samples lack are NaN (see ``Channel.samples``) and are left out of the checks.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from readiness.signal.capture import Channel, Note, Recording

from .converter import check_converter
from .dead import check_dead
from .flat_tops import check_flat_tops
from .rails import check_held, rail_notes, rail_stretches
from .repeats import check_pieces, check_runs
from .scale import check_offset, check_scale
from .time_base import check_gaps, check_time_base


def check_integrity(capture: Recording) -> tuple[Note, ...]:
    """All that is wrong with a capture before it is measured, beyond the notes its reader already
    made.

    Parameters
    ----------
    capture : Recording
        Its ``notes`` are not repeated here.

    Returns
    -------
    tuple of Note
        Codes ``missing_samples``, ``time_base``, ``dead_channel``, ``saturated``, ``clipped``,
        ``stuck_bits``, ``wrong_scale``; empty for a sound trace. Times count from the start of the
        capture.
    """
    in_time = [*check_gaps(capture), *check_time_base(capture)]
    # What a converter does to values shows in its own samples only.
    return (*in_time, *_in_values(capture.converted or capture.emg, capture.test))


def _in_values(emg: Channel, test: str | None) -> list[Note]:
    samples = emg.samples
    finite = np.isfinite(samples)
    if not finite.all():
        emg = replace(emg, samples=np.where(finite, samples, np.nan))
        samples = samples[finite]
    if not len(samples):
        return [Note("dead_channel", f"The channel {emg.label!r} holds no sample.")]
    stretches = rail_stretches(emg)
    rails = list(rail_notes(emg, stretches))
    if test == "still" and not rails:
        rails += check_flat_tops(samples, emg)
    saturated = [note for note in rails if note.code == "saturated"]
    offset = list(check_offset(samples, emg, test))
    dead = list(check_dead(samples, emg))
    wrong_scale = check_scale(samples, emg)
    if dead:
        # A trace that stands still at its stop is driven there; elsewhere nothing reaches the
        # converter.
        return [*(saturated or offset or dead), *wrong_scale]
    if not saturated:
        rails += [*offset, *check_held(emg, stretches)]
    rails += [*check_runs(emg, stretches), *check_pieces(emg)]
    return [*rails, *check_converter(samples, emg), *wrong_scale]
