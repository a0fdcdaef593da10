"""The column maps that are kept, for reading files of other layouts."""

from __future__ import annotations

import json

from readiness.models import BenchPlan


def column_maps() -> tuple[str, ...]:
    """The column maps of all kit types, as JSON text."""
    maps = BenchPlan.objects.values_list("column_maps", flat=True)
    return tuple(json.dumps(column_map) for of_type in maps for column_map in of_type)
