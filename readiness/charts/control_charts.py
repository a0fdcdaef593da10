"""One quantity of a part over its bench days as a chart with limits, drawn from a series."""

from __future__ import annotations

from collections.abc import Sequence

from readiness.charts.plots import Plot, series_plot
from readiness.judgement.drift import (
    FEWEST,
    PartSeries,
    drift_warning,
    ewma,
    individuals,
)
from rentals.counts import counted
from rentals.dates import short_date

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
        labels=[short_date(day) for day in (series.days[0], series.days[-1])],
        lines=lines,
        smooth=smooth,
        out=out,
        name=f"series-{series.part_code}",
    )


def _caption(series: PartSeries, out: tuple[int, ...]) -> str:
    low, high = min(series.values), max(series.values)
    days_measured = counted(len(series.days), "bench day", "bench days")
    sentences = [
        f"{series.title} of {series.part_code} on {days_measured}: last"
        f" {series.values[-1]:.2f} {series.unit}, between {low:.2f} and {high:.2f}, limit"
        f" {series.limit:.2f}."
    ]
    if out:
        days = [short_date(series.days[position]) for position in out[:MOST_DAYS_NAMED]]
        sentences.append(f"Out of its own control limits on {', '.join(days)}.")
    return " ".join([*sentences, drift_warning(series)]).strip()
