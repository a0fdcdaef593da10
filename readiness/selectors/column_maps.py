"""The column maps that are kept, for reading files of other layouts."""

from __future__ import annotations

import json

from readiness.models import BenchPlan


def column_maps() -> tuple[str, ...]:
    """The column maps of all kit types, as JSON text."""
    plans = BenchPlan.objects.exclude(column_map=None)
    maps = plans.values_list("column_map", flat=True)
    return tuple(json.dumps(column_map) for column_map in maps)
