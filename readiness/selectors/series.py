"""What a kit's parts measured over time: noise floor of its amplifier, voltage of its pack, one
value a bench day.

Charts and warnings come from ``readiness.judgement.drift``; here are the rows they are made of and
the words they are told in.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from statistics import median

from django.utils import timezone

from readiness.charts.plots import Plot, series_plot
from readiness.judgement.drift import FEWEST, ewma, forecast, individuals
from readiness.judgement.limits_for import fitted, limits_for
from readiness.models import Verdict
from rentals.models import Kit, PartKind

DAYS = 40
HORIZON_DAYS = 365
"""A limit that is further off is no reason to act in this course year (common practice, no
published source).
"""
FAR_DAYS = 3650


@dataclass(frozen=True)
class Series:
    """One quantity of one part: bench days, oldest first, with a value each, and the limit it is
    judged against.
    """

    part_code: str
    title: str
    unit: str
    days: list[date]
    values: list[float]
    limit: float
    rising: bool

    @property
    def elapsed(self) -> list[int]:
        """Days from the first bench day."""
        return [(day - self.days[0]).days for day in self.days]


def kit_series(kit: Kit) -> list[Series]:
    """Noise floor of the amplifier (median of a day's `still` captures) and voltage of the pack
    (lowest of a day).
    """
    parts, limits = fitted(kit), limits_for(kit)
    rows = Verdict.objects.filter(current=True, capture__set_aside="").order_by(
        "capture__taken", "capture_id"
    )
    found = []
    if amplifier := parts.get(PartKind.AMPLIFIER):
        noise = rows.filter(
            capture__amplifier=amplifier.pk, capture__test="still", noise_uv__isnull=False
        )
        days, values = _by_day(noise.values_list("capture__taken", "noise_uv"), median)
        found.append(
            Series(amplifier.code, "Noise floor", "µV", days, values, limits.noise_uv, True)
        )
    if pack := parts.get(PartKind.BATTERY_PACK):
        volts = rows.filter(capture__battery_pack=pack.pk, battery_v__isnull=False)
        days, values = _by_day(volts.values_list("capture__taken", "battery_v"), min)
        found.append(
            Series(
                pack.code, "Battery under load", "V", days, values, limits.battery_limit_v, False
            )
        )
    return [series for series in found if len(series.days) > 1]


def _by_day(
    rows: Iterable[tuple[datetime, float]], of_day: Callable[[list[float]], float]
) -> tuple[list[date], list[float]]:
    by_day: dict[date, list[float]] = {}
    for taken, value in rows:
        by_day.setdefault(timezone.localdate(taken), []).append(value)
    days = sorted(by_day)[-DAYS:]
    return days, [of_day(by_day[day]) for day in days]


def kit_charts(kit: Kit) -> list[Plot]:
    """The series of a kit as charts with their limits."""
    return [chart(series) for series in kit_series(kit)]


def kit_warnings(kit: Kit) -> list[str]:
    """A sentence for each part of the kit that drifts towards its limit and may meet it within a
    year.
    """
    return [words for series in kit_series(kit) if (words := drift_warning(series))]


def drift_warning(series: Series) -> str:
    """Names the part and when its limit will be met, with an interval; empty where no drift is
    proven.
    """
    if series.elapsed[-1] == 0:
        return ""
    found = forecast(series.elapsed, series.values, series.limit, rising=series.rising)
    if found is None or found.earliest > HORIZON_DAYS:
        return ""
    due, earliest = (_day_after(series.days[-1], days) for days in (found.due, found.earliest))
    span = f"{earliest} at the earliest, or never, if the drift ends"
    if found.latest is not None:
        latest = _day_after(series.days[-1], found.latest)
        span = f"{earliest} at the earliest, {latest} at the latest"
    met = f"it meets {series.limit:.2f} {series.unit} about {due} ({span})"
    return f"{series.title} of {series.part_code} drifts: {met}."


def chart(series: Series) -> Plot:
    """One series as a chart: points, their moving average, the usual level, the limit, and points
    out of control.
    """
    caption = (
        f"{series.title} of {series.part_code} on {len(series.days)} bench days: last"
        f" {series.values[-1]:.2f} {series.unit}, between {min(series.values):.2f} and"
        f" {max(series.values):.2f}, limit {series.limit:.2f}."
    )
    lines, smooth, out = [("limit", series.limit)], (), ()
    if len(series.values) >= FEWEST:
        control = individuals(series.values)
        lines.append(("usual", control.centre))
        smooth, out = ewma(series.values, control.centre, control.sigma).values[1:], control.out
        if out:
            named = ", ".join(_day(series.days[i]) for i in out[:4])
            caption += f" Out of its own control limits on {named}."
    caption = f"{caption} {drift_warning(series)}".strip()
    return series_plot(
        series.elapsed,
        series.values,
        unit=series.unit,
        title=series.title,
        caption=caption,
        labels=[_day(day) for day in (series.days[0], series.days[-1])],
        lines=lines,
        smooth=smooth,
        out=out,
        name=f"series-{series.part_code}",
    )


def _day_after(last: date, days: float) -> str:
    return _day(last + timedelta(days=round(min(days, FAR_DAYS))))


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"
