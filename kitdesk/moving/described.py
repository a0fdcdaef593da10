"""What stands in the tables of an exported desk: `schema.json`, and the README beside it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db.models import Field, Model

from .codec import kind_of
from .tables import STAYS, is_for_reading

SCHEMA, README = "schema.json", "README.md"

#: By the end of a column's name.
_UNITS = {
    "_g": "g",
    "_ma": "mA",
    "_mah": "mAh",
    "_uv": "µV RMS",
    "_v": "V",
    "_hz": "Hz",
    "_days": "days",
    "_months": "months",
    "_percent": "%",
}
#: By the beginning, where the end says nothing.
_UNITS_BEFORE = {"days_": "days", "months_": "months", "minutes_": "minutes", "score_": "0 to 100"}
_UNITS_OF = {
    "stock_service": "%",
    "days": "days",
    "continuity": "0 to 100",
    "noise": "0 to 100",
    "battery": "0 to 100",
    "size": "bytes",
}
_OF_SHEETS = ("width", "height", "across", "down", "left", "top", "right")

_WORDS = """# A desk of Kitdesk, in full

Exported on {made} from {vendor}.

- `tables/` holds one CSV file for each table, for people and spreadsheets. A text that a
  spreadsheet would run as a formula has an apostrophe before it.
- `rows/` holds the same rows exactly, one JSON list on each line. The first line names the
  columns. `import` reads these alone.
- `files/` holds captures and photos under the names that rows give them.
- `schema.json` says what each table and column means, with its type, unit and references.
- `manifest.json` lists every file with its bytes and SHA-256; `sha256sum -c manifest.sha256` checks
  the manifest itself.

Moments are UTC. An empty cell of a CSV file is either nothing or an empty text; `rows/` tells them
apart.

To move in, on the new machine:

1. Copy `log.key` and `secret.key` from the old desk's data folder into the new one's, or set
   `KITDESK_LOG_KEY` and `SECRET_KEY` as they were. Neither is in this folder. Without the first the
   log cannot be checked; without the second links that students have open no more, and webhooks
   are signed otherwise.
2. `python3 manage.py import FOLDER`

This folder names people, and holds their passwords' hashes and the secrets of their second steps.
Keep it as safe as the desk, and delete it once you have moved.

What stays behind:

{stays}
"""


def schema(models: Iterable[type[Model]]) -> dict[str, Any]:
    """Every table with its columns, so that a stranger can read them."""
    return {"moments": "UTC", "tables": [_table(model) for model in models]}


def readme(made: str, vendor: str) -> str:
    """The page that says what lies where, and how to move in."""
    stays = "\n".join(f"- `{table}`: {reason}." for table, reason in sorted(STAYS.items()))
    return _WORDS.format(made=made, vendor=vendor, stays=stays)


def _table(model: type[Model]) -> dict[str, Any]:
    own = (model.__doc__ or "").partition("\n\n")[0]
    meaning = "" if own.startswith(f"{model.__name__}(") else " ".join(own.split())
    columns = model._meta.local_concrete_fields
    return {
        "table": model._meta.db_table,
        "name": str(model._meta.verbose_name),
        "meaning": meaning,
        "primary_key": model._meta.pk.column,
        "columns": [_column(model, field) for field in columns],
    }


def _column(model: type[Model], field: Field[Any, Any]) -> dict[str, Any]:
    facts = {
        "column": field.column,
        "type": kind_of(field),
        "may_be_null": field.null,
        "meaning": str(field.help_text) or str(field.verbose_name),
        "most_characters": field.max_length,
        "decimals": getattr(field, "decimal_places", None),
        "unit": _unit(model, field.name),
        "values": {str(value): str(words) for value, words in field.flatchoices}
        if len(field.flatchoices) <= _MOST_VALUES
        else None,
        "refers_to": _reference(field),
        "only_in_rows": not is_for_reading(model, field.attname),
    }
    return {name: fact for name, fact in facts.items() if fact not in (None, {}, "", False)}


#: A longer list of values is one of the world's, as of countries.
_MOST_VALUES = 60


def _reference(field: Field[Any, Any]) -> str | None:
    if field.remote_field is None:
        return None
    target = field.target_field  # type: ignore[attr-defined]
    return f"{target.model._meta.db_table}.{target.column}"


def _unit(model: type[Model], name: str) -> str:
    if model.__name__ == "LabelSheet" and name.rpartition("_")[2] in _OF_SHEETS:
        return "mm"
    if name in _UNITS_OF:
        return _UNITS_OF[name]
    by_end = next((unit for end, unit in _UNITS.items() if name.endswith(end)), "")
    before = (unit for start, unit in _UNITS_BEFORE.items() if name.startswith(start))
    return by_end or next(before, "")
