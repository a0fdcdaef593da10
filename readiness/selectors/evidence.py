"""The plots of one capture: its trace with windows and events, its spectrum with limit and
mains.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from readiness.charts.plots import EventMark, Plot, spectrum_plot, trace_plot
from readiness.charts.stretch import Stretch
from readiness.judgement.event_lines import events_of
from readiness.judgement.judging import limits_from
from readiness.judgement.opened_apart import open_apart
from readiness.models import Capture, Verdict
from readiness.selectors.column_maps import column_maps
from readiness.signal.bench_tests.view import View
from readiness.signal.capture import Recording
from readiness.signal.errors import CaptureRefused
from rentals.limited_process import NotOpened
from rentals.store_away import StoreAway

WINDOW_WORDS = {"A": "lead A", "B": "lead B"}


def plots_of(
    capture: Capture, verdict: Verdict, stretch: Stretch | None = None
) -> tuple[Plot | None, Plot | None]:
    """Trace and spectrum, drawn from the stored bytes; None for what cannot be drawn. Of the trace
    only a stretch where one is given. Raises StoreAway.
    """
    try:
        with capture.file.open("rb") as stream:
            signal = open_apart(capture.name, stream.read(), capture.declared, column_maps())
    except StoreAway:
        raise
    except (CaptureRefused, NotOpened, OSError):
        return None, None
    windows = [
        (WINDOW_WORDS.get(name, name), start, end) for name, start, end in verdict.result["windows"]
    ]
    marks = [
        EventMark(event.start_s, event.size_uv, event.lead, bool(event.reason), event.end_s)
        for event in events_of(verdict.result)
    ]
    trace = trace_plot(signal.emg.samples, signal.rate_hz, windows, marks, stretch=stretch)
    return trace, _spectrum(replace(signal, test=capture.test), verdict)


def _spectrum(signal: Recording, verdict: Verdict) -> Plot | None:
    if not np.isfinite(signal.emg.samples).all():
        # Gaps are gaps: a spectrum over them would show frequencies that are not there.
        return None
    limits = limits_from(verdict.limits)
    view = View(signal, limits, str(signal.test))
    return spectrum_plot(
        view.spectrum.hz,
        view.spectrum.raw,
        view.spectrum.density,
        limits,
        mains_hz=view.mains.frequency_hz if view.mains.present else None,
        band_hz=view.band_hz,
        noise_uv=verdict.noise_uv,
    )
