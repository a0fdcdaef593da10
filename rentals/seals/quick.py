"""Rows as the log's digests are made over them, put together by SQLite itself: several times as
fast as reading each value into Python.

Every value stands in the line as a whole piece of JSON by its own kind, so two rows that differ
never give one line. Where SQLite writes a value otherwise than Python would, the line differs from
the one that was sealed, and whoever compares looks again in the slow way.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from django.db import connection, models
from django.db.models.expressions import RawSQL

_AS_THEY_ARE = (
    models.CharField,
    models.TextField,
    models.FileField,
    models.IntegerField,
    models.AutoField,
    models.ForeignKey,
)
_NOT_ASCII = re.compile(r"[^\x00-\x7e]")


def quick_line(model: type[models.Model], name: str, columns: Sequence[str]) -> RawSQL | None:
    """The line of a row in SQL: `name`, its number, `columns`; None where the database is another
    one, or a column is of a kind that SQLite writes otherwise as a rule.
    """
    if connection.vendor != "sqlite":
        return None
    fields = {field.attname: field for field in model._meta.local_concrete_fields}
    assert model._meta.pk is not None
    pieces = [_piece(model, fields[column]) for column in (model._meta.pk.attname, *columns)]
    written = [piece for piece in pieces if piece is not None]
    if len(written) < len(pieces):
        return None
    facts = " || ',' || ".join(written)
    # Nothing in it but names of tables and columns.
    return RawSQL(f"""'["{name}",' || {facts} || ']'""", [])  # noqa: S611


def as_python_writes(line: str) -> str:
    """The line with letters beyond ASCII as JSON from Python has them."""
    return line if line.isascii() and "\x7f" not in line else _NOT_ASCII.sub(_escaped, line)


def _escaped(letter: re.Match[str]) -> str:
    units = letter[0].encode("utf-16-be")
    return "".join(f"\\u{units[at : at + 2].hex()}" for at in range(0, len(units), 2))


def _piece(model: type[models.Model], field: models.Field[object, object]) -> str | None:
    quote = connection.ops.quote_name
    value = f"{quote(model._meta.db_table)}.{quote(str(field.column))}"
    # Bytes are no JSON: whatever stands there, it is not what was sealed.
    plain = f"CASE typeof({value}) WHEN 'blob' THEN '' ELSE json_quote({value}) END"
    if isinstance(field, models.BooleanField):
        return f"CASE {value} WHEN 1 THEN 'true' WHEN 0 THEN 'false' ELSE {plain} END"
    if isinstance(field, models.DateTimeField):
        moment = f"json_quote({value} || '+00:00')"
        return f"CASE typeof({value}) WHEN 'text' THEN {moment} ELSE {plain} END"
    if isinstance(field, models.DecimalField) and field.decimal_places:
        written = f"json_quote(printf('%%.{field.decimal_places}f', {value}))"
        return f"CASE WHEN typeof({value}) IN ('integer', 'real') THEN {written} ELSE {plain} END"
    if isinstance(field, (*_AS_THEY_ARE, models.DateField)):
        return plain
    return None
