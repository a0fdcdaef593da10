"""One value of a row as JSON, exactly, and back; and as a cell that a person reads.

The type of the column decides, never the look of the value: so NULL stays apart from empty text,
12.50 from 12.5, and a moment keeps its microseconds.
"""

from __future__ import annotations

import base64
import json
import math
from collections.abc import Callable
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Field

from kitdesk.backups.problems import NotPossible

_KINDS = {
    "whole number": (
        *("AutoField", "BigAutoField", "IntegerField", "BigIntegerField", "SmallIntegerField"),
        *("PositiveIntegerField", "PositiveSmallIntegerField", "PositiveBigIntegerField"),
    ),
    "decimal": ("DecimalField",),
    "number": ("FloatField",),
    "yes or no": ("BooleanField",),
    "text": ("CharField", "TextField", "EmailField", "URLField"),
    "file": ("FileField",),
    "moment": ("DateTimeField",),
    "day": ("DateField",),
    "JSON": ("JSONField",),
    "bytes": ("BinaryField",),
    "UUID": ("UUIDField",),
}
_KIND_OF = {name: kind for kind, names in _KINDS.items() for name in names}

_TO_JSON: dict[str, Callable[[Any], Any]] = {
    "decimal": str,
    "number": lambda value: value if math.isfinite(value) else str(value),
    "moment": lambda value: value.astimezone(UTC).isoformat(),
    "day": date.isoformat,
    "bytes": lambda value: base64.b64encode(value).decode(),
    "UUID": str,
}
_FROM_JSON: dict[str, Callable[[Any], Any]] = {
    "decimal": Decimal,
    "number": float,
    "moment": datetime.fromisoformat,
    "day": date.fromisoformat,
    "bytes": base64.b64decode,
    "UUID": UUID,
}
_TO_CELL: dict[str, Callable[[Any], Any]] = {
    "yes or no": lambda value: "yes" if value else "no",
    "moment": _TO_JSON["moment"],
    "day": date.isoformat,
    "JSON": lambda value: json.dumps(value, sort_keys=True, ensure_ascii=False),
    "UUID": str,
}


def kind_of(field: Field[Any, Any]) -> str:
    """The type of a column in words, as the described schema has it; that of a reference is what it
    refers to. Raises NotPossible for a type that nothing is known of.
    """
    while field.remote_field is not None:
        field = field.target_field  # type: ignore[attr-defined]
    kind = _KIND_OF.get(field.get_internal_type())
    if kind is None:
        name = f"{field.model._meta.label}.{field.name}"
        raise NotPossible(f"Nothing is known of columns like {name}; {__name__} has to learn them.")
    return kind


def to_json(kind: str, value: Any) -> Any:
    """A value as the database gave it, so that JSON can hold it."""
    return value if value is None or kind not in _TO_JSON else _TO_JSON[kind](value)


def from_json(kind: str, value: Any) -> Any:
    """The value again. Raises ValueError or TypeError where it is none of its kind."""
    return value if value is None or kind not in _FROM_JSON else _FROM_JSON[kind](value)


def to_cell(kind: str, value: Any) -> Any:
    """A value as a person reads it; both NULL and an empty text are an empty cell."""
    return value if value is None or kind not in _TO_CELL else _TO_CELL[kind](value)


def line_of(values: list[Any]) -> bytes:
    """A row as one line of JSON. Keys inside are in order: one database keeps theirs, the other
    does not.
    """
    return json.dumps(values, separators=(",", ":"), sort_keys=True).encode() + b"\n"
