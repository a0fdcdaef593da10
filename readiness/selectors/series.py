"""What a kit's parts measured over time: noise floor of its amplifier, voltage of its pack, one
value a bench day.

Here are the rows; warnings are made of them in ``readiness.judgement.drift``, charts in
``readiness.charts.control_charts``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, datetime
from statistics import median
from typing import TypeAlias

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


#: What was measured of a part: each value with its moment, the earliest first.
_Measured: TypeAlias = list[tuple[datetime, float]]


def kit_series(parts: Mapping[str, Part], limits: Limits) -> list[PartSeries]:
    """Noise floor of the amplifier (median of a day's `still` captures) and voltage of the pack
    (lowest of a day), beside the limits of the kit that the parts are in.
    """
    return _series_of([(parts, limits)])[0]


def _series_of(kits: Sequence[tuple[Mapping[str, Part], Limits]]) -> list[list[PartSeries]]:
    """The same of several kits, in their order; two queries in all."""
    verdicts = Verdict.objects.filter(current=True, capture__set_aside="")
    verdicts = verdicts.order_by("capture__taken", "capture_id")
    fitted = [parts for parts, _ in kits]
    noise = _measured(
        verdicts.filter(capture__test=NOISE_TEST),
        "capture__amplifier",
        _of_kind(fitted, PartKind.AMPLIFIER),
        "noise_uv",
    )
    volts = _measured(
        verdicts, "capture__battery_pack", _of_kind(fitted, PartKind.BATTERY_PACK), "battery_v"
    )
    found = []
    for parts, limits in kits:
        series = []
        if amplifier := parts.get(PartKind.AMPLIFIER):
            series.append(_noise_series(amplifier, noise[amplifier.pk], limits))
        if pack := parts.get(PartKind.BATTERY_PACK):
            series.append(_battery_series(pack, volts[pack.pk], limits))
        found.append([each for each in series if len(each.days) > 1])
    return found


def _of_kind(fitted: Iterable[Mapping[str, Part]], kind: PartKind) -> set[int]:
    return {parts[kind].pk for parts in fitted if kind in parts}


def _measured(
    verdicts: QuerySet[Verdict], part: str, parts: set[int], value: str
) -> dict[int, _Measured]:
    """What verdicts say of some parts, by the number of each part."""
    found: dict[int, _Measured] = {pk: [] for pk in parts}
    if parts:
        rows = verdicts.filter(**{f"{part}__in": parts, f"{value}__isnull": False})
        for pk, taken_at, measured in rows.values_list(f"{part}_id", "capture__taken", value):
            found[pk].append((taken_at, measured))
    return found


def _noise_series(amplifier: Part, noise: _Measured, limits: Limits) -> PartSeries:
    days, values = _by_day(noise, median)
    return PartSeries(amplifier.code, "Noise floor", "µV", days, values, limits.noise_uv, True)


def _battery_series(pack: Part, volts: _Measured, limits: Limits) -> PartSeries:
    days, values = _by_day(volts, min)
    lowest = limits.battery_limit_v
    return PartSeries(pack.code, "Battery under load", "V", days, values, lowest, False)


def _by_day(
    measured: _Measured, of_day: Callable[[list[float]], float]
) -> tuple[list[date], list[float]]:
    by_day: dict[date, list[float]] = {}
    for taken_at, value in measured:
        by_day.setdefault(timezone.localdate(taken_at), []).append(value)
    days = sorted(by_day)[-DAYS:]
    return days, [of_day(by_day[day]) for day in days]


def kit_charts(kit: Kit) -> list[Plot]:
    """The series of a kit as charts with their limits."""
    parts = fitted(kit)
    return [control_chart(series) for series in kit_series(parts, limits_of(kit, parts))]


def warnings_of(kits: Sequence[tuple[Mapping[str, Part], Limits]]) -> list[list[str]]:
    """For each kit, by its parts and limits, a sentence for each part that drifts towards its limit
    and may meet it within a year.
    """
    return [
        [warning for series in of_kit if (warning := drift_warning(series))]
        for of_kit in _series_of(kits)
    ]
