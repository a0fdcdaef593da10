"""What a kit's parts measured over time: noise floor of its amplifier, voltage of its pack, one
value a bench day.

Here are the rows; warnings are made of them in ``readiness.judgement.drift``, charts in
``readiness.charts.control_charts``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime
from statistics import median

from django.db.models import QuerySet
from django.utils import timezone

from readiness.charts.control_charts import control_chart
from readiness.charts.plots import Plot
from readiness.judgement.drift import PartSeries, drift_warning
from readiness.models import Verdict
from readiness.selectors.limits import fitted, limits_of
from readiness.signal.catalogue import NOISE_TEST
from readiness.signal.limits import Limits
from rentals.models import Kit, Part, PartKind

DAYS = 40


def kit_series(parts: Mapping[str, Part], limits: Limits) -> list[PartSeries]:
    """Noise floor of the amplifier (median of a day's `still` captures) and voltage of the pack
    (lowest of a day), beside the limits of the kit that the parts are in.
    """
    verdicts = Verdict.objects.filter(current=True, capture__set_aside="")
    verdicts = verdicts.order_by("capture__taken", "capture_id")
    series = []
    if amplifier := parts.get(PartKind.AMPLIFIER):
        series.append(_noise_series(amplifier, verdicts, limits))
    if pack := parts.get(PartKind.BATTERY_PACK):
        series.append(_battery_series(pack, verdicts, limits))
    return [each for each in series if len(each.days) > 1]


def _noise_series(amplifier: Part, verdicts: QuerySet[Verdict], limits: Limits) -> PartSeries:
    noise = verdicts.filter(
        capture__amplifier=amplifier.pk, capture__test=NOISE_TEST, noise_uv__isnull=False
    )
    days, values = _by_day(noise.values_list("capture__taken", "noise_uv"), median)
    return PartSeries(amplifier.code, "Noise floor", "µV", days, values, limits.noise_uv, True)


def _battery_series(pack: Part, verdicts: QuerySet[Verdict], limits: Limits) -> PartSeries:
    volts = verdicts.filter(capture__battery_pack=pack.pk, battery_v__isnull=False)
    days, values = _by_day(volts.values_list("capture__taken", "battery_v"), min)
    lowest = limits.battery_limit_v
    return PartSeries(pack.code, "Battery under load", "V", days, values, lowest, False)


def _by_day(
    rows: Iterable[tuple[datetime, float | None]], of_day: Callable[[list[float]], float]
) -> tuple[list[date], list[float]]:
    by_day: dict[date, list[float]] = {}
    for taken_at, value in rows:
        if value is not None:
            by_day.setdefault(timezone.localdate(taken_at), []).append(value)
    days = sorted(by_day)[-DAYS:]
    return days, [of_day(by_day[day]) for day in days]


def kit_charts(kit: Kit) -> list[Plot]:
    """The series of a kit as charts with their limits."""
    parts = fitted(kit)
    return [control_chart(series) for series in kit_series(parts, limits_of(kit, parts))]


def kit_warnings(parts: Mapping[str, Part], limits: Limits) -> list[str]:
    """A sentence for each part of a kit that drifts towards its limit and may meet it within a
    year.
    """
    warnings = [drift_warning(series) for series in kit_series(parts, limits)]
    return [warning for warning in warnings if warning]
