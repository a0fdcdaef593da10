"""The column maps that are kept, for reading files of other layouts."""

from __future__ import annotations

import json

from readiness.models import BenchPlan


def kept_maps() -> tuple[str, ...]:
    """The column maps of all kit types, as JSON text."""
    kept = BenchPlan.objects.exclude(column_map=None).values_list("column_map", flat=True)
    return tuple(json.dumps(columns) for columns in kept)
