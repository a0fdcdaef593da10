"""Parts of a plot: axes, grids, lines, shades and words as SVG text, with classes only (see
``readiness.charts.plots``).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

import numpy as np

HEIGHT = 280
LEFT, RIGHT, TOP, BOTTOM = 62, 12, 26, 36
NARROWEST_NAMED = 48


@dataclass(frozen=True)
class PlotSheet:
    """What a plot is drawn on. Units are pixels at full size, so a drawing as wide as the screen
    keeps its letters.
    """

    kind: str
    """Class of the drawing: the stylesheet shows the one that fits the screen."""
    width: int
    mark_every: int
    """Of the marks along the time axis, which are drawn."""

    @property
    def inner(self) -> int:
        return self.width - LEFT - RIGHT

    @property
    def end(self) -> int:
        return self.width - RIGHT


WIDE, NARROW = PlotSheet("plot-wide", 760, 1), PlotSheet("plot-narrow", 400, 2)


@dataclass(frozen=True)
class Axis:
    """From a value to a place on the drawing."""

    low: float
    high: float
    start: float
    end: float
    log: bool = False

    def __call__(self, value: Any) -> Any:
        if self.log:
            share = np.log(np.maximum(value, self.low) / self.low) / math.log(self.high / self.low)
        else:
            share = (value - self.low) / (self.high - self.low)
        return self.start + share * (self.end - self.start)


def svg(name: str, title: str, description: str, parts: Sequence[str], sheet: PlotSheet) -> str:
    name = escape(f"{name}-{sheet.kind}", quote=True)
    size = f'width="{sheet.inner}" height="{HEIGHT - TOP - BOTTOM}"'
    frame = f'<rect class="plot-frame" x="{LEFT}" y="{TOP}" {size}/>'
    return (
        f'<svg class="plot {sheet.kind}" viewBox="0 0 {sheet.width} {HEIGHT}" role="img" '
        f'aria-labelledby="{name}-title {name}-desc">'
        f'<title id="{name}-title">{escape(title)}</title><desc'
        f' id="{name}-desc">{escape(description)}</desc>'
        f"{''.join(parts)}{frame}</svg>"
    )


def envelope(samples: np.ndarray, x: Axis, y: Axis, sheet: PlotSheet) -> str:
    """One vertical stroke a column from the lowest to the highest sample, as one closed shape for
    each gapless run.
    """
    columns = min(len(samples), sheet.inner)
    if columns < 2:
        return ""
    starts = (np.arange(columns) * len(samples)) // columns
    lows, highs = np.minimum.reduceat(samples, starts), np.maximum.reduceat(samples, starts)
    places = np.linspace(x.start, x.end, columns)
    whole = np.isfinite(lows)
    shapes = []
    for run in np.split(np.arange(columns), np.flatnonzero(np.diff(whole)) + 1):
        if not whole[run[0]]:
            continue
        upper = [f"{places[i]:.1f} {y(highs[i]):.1f}" for i in run]
        lower = [f"{places[i]:.1f} {y(lows[i]):.1f}" for i in run[::-1]]
        shapes.append("M" + "L".join(upper + lower) + "Z")
    return "".join(shapes)


def line(across: np.ndarray, up: np.ndarray, x: Axis, y: Axis) -> str:
    return "M" + "L".join(f"{a:.1f} {b:.1f}" for a, b in zip(x(across), y(up), strict=True))


def log_means(
    freq: np.ndarray, values: np.ndarray, per_octave: int = 40
) -> tuple[np.ndarray, np.ndarray]:
    """Means in equal parts of an octave: a line of hundreds, not thousands, of points."""
    part = np.floor(np.log2(freq) * per_octave)
    starts = np.flatnonzero(np.diff(part, prepend=-1))
    counts = np.diff(np.append(starts, len(freq)))
    return np.add.reduceat(freq, starts) / counts, np.add.reduceat(values, starts) / counts


def window(index: int, span: tuple[str, float, float], x: Axis) -> str:
    """One window of a test, shaded and named as far as it lies on the time axis; no name where it
    would not fit.
    """
    title, start, end = span
    left, right = x(max(start, x.low)), x(min(end, x.high))
    if right <= left:
        return ""
    shaded = shade("plot-window" if index % 2 else "plot-window-other", left, right)
    if right - left < NARROWEST_NAMED:
        return shaded
    words = {"A": "lead A", "B": "lead B"}.get(title, title)
    return shaded + text((left + right) / 2, TOP - 8, words, "plot-name", "middle")


def band(kind: str, edges: tuple[float, float], x: Axis, words: str) -> str:
    return shade(kind, x(edges[0]), x(edges[1])) + text(
        x(edges[0]) + 3, TOP - 8, words, "plot-name"
    )


def shade(kind: str, start: float, end: float) -> str:
    size = f'width="{max(0.0, end - start):.1f}" height="{HEIGHT - TOP - BOTTOM}"'
    return f'<rect class="{kind}" x="{start:.1f}" y="{TOP}" {size}/>'


def grid_x(values: Sequence[float], x: Axis, unit: str, sheet: PlotSheet) -> list[str]:
    parts = [rule("plot-grid", x(v), TOP, x(v), HEIGHT - BOTTOM) for v in values]
    parts += [text(x(v), HEIGHT - BOTTOM + 16, f"{v:g}", "plot-tick", "middle") for v in values]
    return [*parts, text(sheet.end, HEIGHT - 4, unit, "plot-name", "end")]


def grid_y(values: Sequence[float], y: Axis, unit: str, sheet: PlotSheet) -> list[str]:
    parts = [rule("plot-grid", LEFT, y(v), sheet.end, y(v)) for v in values]
    parts += [text(LEFT - 6, y(v) + 4, f"{v:g}", "plot-tick", "end") for v in values]
    return [*parts, text(4, TOP - 8, unit, "plot-name")]


def rule(kind: str, x1: float, y1: float, x2: float, y2: float) -> str:
    return f'<path class="{kind}" d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}"/>'


def text(x: float, y: float, words: str, kind: str, anchor: str = "start") -> str:
    return (
        f'<text class="{kind}" x="{x:.1f}" y="{y:.1f}"'
        f' text-anchor="{anchor}">{escape(words)}</text>'
    )


def ticks(low: float, high: float) -> list[float]:
    """Four to eight round values between two bounds."""
    step = 10 ** math.floor(math.log10(high - low))
    for share in (1, 0.5, 0.2):
        if (high - low) / (step * share) >= 4:
            step *= share
            break
    first = math.ceil(low / step)
    return [round(k * step, 10) for k in range(first, math.floor(high / step) + 1)]


def decades(low: float, high: float) -> list[float]:
    return [10.0**k for k in range(math.ceil(math.log10(low)), math.floor(math.log10(high)) + 1)]
