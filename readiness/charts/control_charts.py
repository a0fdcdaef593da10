"""One quantity of a part over its bench days as a chart with limits, drawn from a series."""

from __future__ import annotations

from collections.abc import Sequence

from readiness.charts.plots import Plot, series_plot
from readiness.judgement.drift import (
    FEWEST,
    PartSeries,
    day_in_words,
    drift_warning,
    ewma,
    individuals,
)

MOST_DAYS_NAMED = 4


def control_chart(series: PartSeries) -> Plot:
    """Points, their moving average, the usual level, the limit, and points out of control."""
    lines = [("limit", series.limit)]
    smooth: Sequence[float] = ()
    out: tuple[int, ...] = ()
    if len(series.values) >= FEWEST:
        control = individuals(series.values)
        lines.append(("usual", control.centre))
        smooth = ewma(series.values, control.centre, control.sigma).values[1:]
        out = control.out
    return series_plot(
        series.elapsed,
        series.values,
        unit=series.unit,
        title=series.title,
        caption=_caption(series, out),
        labels=[day_in_words(day) for day in (series.days[0], series.days[-1])],
        lines=lines,
        smooth=smooth,
        out=out,
        name=f"series-{series.part_code}",
    )


def _caption(series: PartSeries, out: tuple[int, ...]) -> str:
    low, high = min(series.values), max(series.values)
    sentences = [
        f"{series.title} of {series.part_code} on {len(series.days)} bench days: last"
        f" {series.values[-1]:.2f} {series.unit}, between {low:.2f} and {high:.2f}, limit"
        f" {series.limit:.2f}."
    ]
    if out:
        days = [day_in_words(series.days[position]) for position in out[:MOST_DAYS_NAMED]]
        sentences.append(f"Out of its own control limits on {', '.join(days)}.")
    return " ".join([*sentences, drift_warning(series)]).strip()
