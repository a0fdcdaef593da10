"""Rows as the log's digests are made over them, put together by SQLite itself: several times as
fast as reading each value into Python.

Every value stands in the line as a whole piece of JSON by its own kind, so two rows that differ
never give one line. Where SQLite writes a value otherwise than Python would, the line differs from
the one that was sealed, and whoever compares looks again in the slow way. At bytes, which are no
JSON, the database stops: then too.
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
#: So many values SQLite takes into one array, whatever it was built with.
_MOST = 100
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
    if len(written) < len(pieces) or len(written) >= _MOST:
        return None
    # Nothing in it but names of tables and columns.
    return RawSQL(f"json_array('{name}',{','.join(written)})", [])  # noqa: S611


def as_python_writes(line: str) -> str:
    """The line with letters beyond ASCII as JSON from Python has them."""
    return line if line.isascii() and "\x7f" not in line else _NOT_ASCII.sub(_escaped, line)


def _escaped(letter: re.Match[str]) -> str:
    units = letter[0].encode("utf-16-be")
    return "".join(f"\\u{units[at : at + 2].hex()}" for at in range(0, len(units), 2))


def _piece(model: type[models.Model], field: models.Field[object, object]) -> str | None:
    quote = connection.ops.quote_name
    value = f"{quote(model._meta.db_table)}.{quote(str(field.column))}"
    if isinstance(field, models.BooleanField):
        return f"CASE {value} WHEN 1 THEN json('true') WHEN 0 THEN json('false') ELSE {value} END"
    if isinstance(field, models.DateTimeField):
        return f"CASE typeof({value}) WHEN 'text' THEN {value} || '+00:00' ELSE {value} END"
    if isinstance(field, models.DecimalField) and field.decimal_places:
        written = f"printf('%%.{field.decimal_places}f', {value})"
        number = f"typeof({value}) IN ('integer', 'real')"
        return f"CASE WHEN {number} THEN {written} ELSE {value} END"
    if isinstance(field, (*_AS_THEY_ARE, models.DateField)):
        return value
    return None
