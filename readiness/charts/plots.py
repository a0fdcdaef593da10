"""Plots as SVG text: the trace with its windows and events, the spectrum with limit and mains, a
value over time.

Own drawing, no Django, no style attribute (a strict content security policy forbids it): colour and
weight come from the stylesheet by these classes: plot, plot-wide, plot-narrow, plot-frame,
plot-grid, plot-envelope, plot-trace, plot-second, plot-line, plot-window, plot-window-other,
plot-band, plot-limit, plot-limit-name, plot-mean, plot-mains, plot-mains-name, plot-event,
plot-event-mark, plot-explained, plot-event-number, plot-point, plot-point-out, plot-name.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from readiness.charts.plot_parts import (
    BOTTOM,
    HEIGHT,
    LEFT,
    NARROW,
    TOP,
    WIDE,
    Axis,
    PlotSheet,
    band,
    decades,
    envelope,
    grid_x,
    grid_y,
    line,
    log_means,
    rule,
    svg,
    text,
    ticks,
    window,
)
from readiness.charts.stretch import Stretch, whole
from readiness.judgement.sentences import for_people
from readiness.signal.catalogue import LEADS
from readiness.signal.limits import FULL_BAND_HZ, TRAINING_BAND_HZ, Limits
from rentals.counts import counted

MARKED_EVENTS = 30
"""More marks than this would hide the trace; the caption says how many there are."""


@dataclass(frozen=True)
class Plot:
    """An SVG element as text, the same drawn again for a phone, and the sentence that states the
    result.

    Both have the text alternative; the stylesheet takes one of the two out of the page, so it is
    read once.
    """

    svg: str
    narrow: str
    caption: str


@dataclass(frozen=True)
class EventMark:
    """An event on the trace: when, how high (uV), and which lead, if known; ``explained`` where it
    does not count against the kit. ``end_s`` is when it was over; several spikes may be one event.
    """

    start_s: float
    size_uv: float
    lead: str | None = None
    explained: bool = False
    end_s: float | None = None


def trace_plot(
    samples: np.ndarray,
    rate_hz: float,
    windows: Sequence[tuple[str, float, float]],
    marks: Sequence[EventMark] = (),
    *,
    stretch: Stretch | None = None,
    name: str = "trace",
) -> Plot:
    """A capture as a min/max envelope, windows shaded and named, events numbered in order of time.

    Parameters
    ----------
    samples : numpy.ndarray
        Microvolts, shape (n,); missing samples are NaN and leave a gap.
    windows : sequence of (name, start, end)
        In seconds.
    marks : sequence of EventMark
        Events, numbered from 1 as the findings list them, also where only some are drawn.
    stretch : Stretch or None
        The part that is drawn, over the whole width; all of it where ``None``.
    name : str
        Makes the ids of title and description unique on a page.
    """
    part = stretch or whole(len(samples) / rate_hz)
    drawn = samples[math.floor(part.start_s * rate_hz) : math.ceil(part.end_s * rate_hz)]
    finite = drawn[np.isfinite(drawn)]
    low, high = (float(finite.min()), float(finite.max())) if len(finite) else (-1.0, 1.0)
    pad = 0.06 * (high - low) or 1.0
    y = Axis(low - pad, high + pad, HEIGHT - BOTTOM, TOP)
    numbered = [(n, mark) for n, mark in enumerate(marks, 1) if part.holds(mark.start_s)]

    def draw(sheet: PlotSheet) -> list[str]:
        x = Axis(part.start_s, part.end_s, LEFT, sheet.end)
        parts = [window(i, span, x) for i, span in enumerate(windows)]
        parts += grid_x(_seconds_marked(part, sheet), x, "s", sheet)
        parts += grid_y(ticks(low - pad, high + pad), y, "µV", sheet)
        parts.append(f'<path class="plot-envelope" d="{envelope(drawn, x, y, sheet)}"/>')
        return parts + [_mark(number, mark, x) for number, mark in numbered[:MARKED_EVENTS]]

    shown = [mark for _, mark in numbered]
    caption = _trace_caption(low, high, part, shown, marks)
    spoken = "; ".join(
        f"{title} from {start:g} to {end:g} seconds" for title, start, end in windows
    )
    return _plot(draw, name, "Trace", caption, f"{caption} Windows: {spoken}.")


def _seconds_marked(part: Stretch, sheet: PlotSheet) -> Sequence[float]:
    """Where the time axis has its marks."""
    if part.is_whole:
        return range(0, math.floor(part.whole_s) + 1, sheet.mark_every)
    return ticks(part.start_s, part.end_s)[:: sheet.mark_every]


def spectrum_plot(
    hz: np.ndarray,
    raw: np.ndarray,
    cleaned: np.ndarray,
    limits: Limits,
    *,
    mains_hz: float | None = None,
    band_hz: tuple[float, float] = FULL_BAND_HZ,
    noise_uv: float | None = None,
    name: str = "spectrum",
) -> Plot:
    """Noise density over frequency on logarithmic axes, with the limit, the judged bands and the
    mains harmonics.

    Parameters
    ----------
    hz, raw, cleaned : numpy.ndarray
        Frequencies, and densities in uV^2/Hz with and without mains lines, shape (m,).
    mains_hz : float or None
        Fundamental whose harmonics are marked; ``None`` where no line stands out.
    band_hz : tuple of float
        The judged band.
    noise_uv : float or None
        The noise floor found in that band, for the caption.
    """
    drawn = hz >= 1
    freq, first, second = hz[drawn], np.sqrt(raw[drawn]), np.sqrt(cleaned[drawn])
    limit = limits.noise_uv / math.sqrt(FULL_BAND_HZ[1] - FULL_BAND_HZ[0])
    tops = [float(first.max()), limit]
    bottoms = [float(np.quantile(second[second > 0], 0.01)) if (second > 0).any() else limit, limit]
    top, least, most = float(freq[-1]), min(bottoms) / 2, max(tops) * 2
    y = Axis(least, most, HEIGHT - BOTTOM, TOP, log=True)

    def draw(sheet: PlotSheet) -> list[str]:
        x = Axis(1.0, top, LEFT, sheet.end, log=True)
        parts = [band("plot-band", band_hz, x, "judged band" if sheet is WIDE else "judged")]
        if band_hz[1] >= TRAINING_BAND_HZ[1]:
            parts.append(band("plot-window-other", TRAINING_BAND_HZ, x, "training"))
        parts += grid_x(decades(1.0, top), x, "Hz", sheet) + grid_y(
            decades(least, most), y, "µV/√Hz", sheet
        )
        parts += _harmonics(mains_hz, top, x)
        parts.append(f'<path class="plot-second" d="{line(*log_means(freq, first), x, y)}"/>')
        parts.append(f'<path class="plot-trace" d="{line(*log_means(freq, second), x, y)}"/>')
        parts.append(rule("plot-limit", x(band_hz[0]), y(limit), x(band_hz[1]), y(limit)))
        return [*parts, text(x(band_hz[0]) + 3, y(limit) - 4, "limit", "plot-limit-name")]

    return _plot(
        draw,
        name,
        "Spectrum",
        _spectrum_caption(noise_uv, limits, band_hz, mains_hz),
    )


def series_plot(
    days: Sequence[float],
    values: Sequence[float],
    *,
    unit: str,
    title: str,
    caption: str,
    labels: Sequence[str] = (),
    lines: Sequence[tuple[str, float]] = (),
    smooth: Sequence[float] = (),
    out: Sequence[int] = (),
    name: str = "series",
) -> Plot:
    """A value over the returns of a part: points, their moving average, limit lines by name, points
    out of control.

    Parameters
    ----------
    days, values : sequence of float
        Where on the time axis (days from the first), and the value in ``unit``.
    labels : sequence of str
        Text of the first and the last day.
    lines : sequence of (name, value)
        Horizontal lines; those whose name holds "limit" are drawn as limits, others as means.
    smooth : sequence of float
        The moving average at the same days.
    out : sequence of int
        Positions of points that are out of control.
    """
    every = [*values, *smooth, *(value for _, value in lines)]
    low, high = min(every), max(every)
    pad = 0.1 * (high - low) or 0.1 * abs(high) or 1.0
    last = max(days) if max(days) > min(days) else min(days) + 1
    y = Axis(low - pad, high + pad, HEIGHT - BOTTOM, TOP)

    def draw(sheet: PlotSheet) -> list[str]:
        x = Axis(min(days), last, LEFT + 10, sheet.end - 60)
        parts = grid_y(ticks(low - pad, high + pad), y, unit, sheet)
        for words, value in lines:
            kind, label_kind = (
                ("plot-limit", "plot-limit-name")
                if "limit" in words
                else ("plot-mean", "plot-name")
            )
            parts.append(rule(kind, LEFT, y(value), sheet.end - 50, y(value)))
            parts.append(text(sheet.end - 46, y(value) + 4, words, label_kind))
        for kind, series in (
            ("plot-second", smooth),
            ("plot-line", values if len(values) > 1 else ()),
        ):
            if len(series):
                parts.append(
                    f'<path class="{kind}" d="{line(np.array(days), np.array(series), x, y)}"/>'
                )
        for i, (day, value) in enumerate(zip(days, values, strict=True)):
            kind, radius = ("plot-point-out", 5) if i in set(out) else ("plot-point", 3.5)
            parts.append(
                f'<circle class="{kind}" cx="{x(day):.1f}" cy="{y(value):.1f}" r="{radius}"/>'
            )
        ends = zip((x(min(days)), x(max(days))), labels, strict=False)
        return parts + [
            text(place, HEIGHT - BOTTOM + 16, words, "plot-tick", "middle") for place, words in ends
        ]

    return _plot(draw, name, title, caption)


def _plot(
    draw: Callable[[PlotSheet], list[str]],
    name: str,
    title: str,
    caption: str,
    description: str = "",
) -> Plot:
    wide, narrow = (
        svg(name, title, description or caption, draw(sheet), sheet) for sheet in (WIDE, NARROW)
    )
    return Plot(wide, narrow, caption)


def _mark(number: int, mark: EventMark, x: Axis) -> str:
    place, level = x(mark.start_s), TOP + 12 + 16 * ((number - 1) % 3)
    kind = " plot-explained" if mark.explained else ""
    over = max(place, x(min(mark.end_s or mark.start_s, x.high)))
    return (
        f'<rect class="plot-event-span{kind}" x="{place:.1f}" y="{TOP}"'
        f' width="{over - place:.1f}" height="{HEIGHT - BOTTOM - TOP}"/>'
        + rule(f"plot-event{kind}", place, TOP, place, HEIGHT - BOTTOM)
        + f'<circle class="plot-event-mark{kind}" cx="{place:.1f}" cy="{level}" r="8"/>'
        + text(place, level + 4, str(number), "plot-event-number", "middle")
    )


def _harmonics(mains_hz: float | None, top: float, x: Axis) -> list[str]:
    if not mains_hz:
        return []
    orders = range(1, int(top / mains_hz) + 1)
    lines = [
        rule("plot-mains", x(k * mains_hz), TOP, x(k * mains_hz), HEIGHT - BOTTOM)
        for k in orders
        if k < 12
    ]
    return [
        *lines,
        text(
            x(mains_hz), HEIGHT - BOTTOM - 5, f"{mains_hz:.4g} Hz mains", "plot-mains-name", "end"
        ),
    ]


def _trace_caption(
    low: float, high: float, part: Stretch, shown: Sequence[EventMark], marks: Sequence[EventMark]
) -> str:
    """What is drawn, in a sentence: `shown` are those of all `marks` that lie in it."""
    seconds = f"{part.whole_s:.1f} s"
    if not part.is_whole:
        seconds = f"{part.start_s:g} to {part.end_s:g} s of {seconds}"
    span = f"{seconds} between {low:.4g} and {high:.4g} µV"
    limited = f", the first {MARKED_EVENTS} marked" if len(shown) > MARKED_EVENTS else ""
    explained = sum(mark.explained for mark in shown)
    beside = (
        f" and {counted(explained, 'explained spike', 'explained spikes')}" if explained else ""
    )
    return f"{span}; {_jumps_in_words(shown, marks)}{beside}{limited}."


def _jumps_in_words(shown: Sequence[EventMark], marks: Sequence[EventMark]) -> str:
    """How many of the jumps that count are drawn, and on which leads."""
    in_all = sum(not mark.explained for mark in marks)
    if not in_all:
        return "no abrupt event"
    drawn = [mark for mark in shown if not mark.explained]
    events = counted(in_all, "abrupt event", "abrupt events")
    if len(drawn) < in_all:
        events = f"{len(drawn) or 'none'} of {events}"
    leads = [lead for lead in LEADS if any(mark.lead == lead for mark in drawn)]
    where = f" on lead {' and '.join(leads)}" if leads else ""
    return f"{events}{where}"


def _spectrum_caption(
    noise: float | None, limits: Limits, band: tuple[float, float], mains_hz: float | None
) -> str:
    where = f"from {band[0]:.0f} to {band[1]:.0f} Hz"
    line = f"; mains at {mains_hz:.4g} Hz is left out" if mains_hz else ""
    limit = for_people(limits.noise_in_words(*band))
    if noise is None:
        return f"Noise density, judged {where}; limit: {limit}{line}."
    side = "below" if noise <= limits.noise_in_band(*band) else "above"
    return f"Noise floor of {noise:.2f} µV RMS {where}, {side} the limit: {limit}{line}."
