"""What the database itself refuses: a shortfall over pieces that the student did not get. Such a
rule looks at two tables, which no check constraint can.

On SQLite a migration that rebuilds a table loses its triggers, and stumbles over those that name
it. So they are taken down before every `migrate` and put up after it.
"""

from __future__ import annotations

from typing import Any

from django.db import connections

_TABLES = frozenset({"rentals_shortfall", "rentals_arrivalline", "rentals_packingline"})
_NEVER = "what was missing on arrival is never asked of the student"
_TOO_MANY = "more pieces were missing on arrival than went out"
#: Pieces of a packing line that its student cannot be asked for.
_SHORTFALL_BEYOND = (
    "EXISTS (SELECT 1 FROM rentals_arrivalline a JOIN rentals_packingline p"
    " ON p.id = a.packing_line_id WHERE p.id = NEW.packing_line_id AND NEW.quantity + a.missing"
    " + CASE WHEN NEW.kind = 'damaged' THEN a.damaged ELSE 0 END > p.quantity)"
)
_ARRIVAL_BEYOND = (
    "EXISTS (SELECT 1 FROM rentals_packingline p WHERE p.id = NEW.packing_line_id"
    " AND NEW.missing + NEW.damaged > p.quantity)"
)
#: Name, table, condition, what is said.
_GUARDS = (
    ("arrival_never_charged", "rentals_shortfall", _SHORTFALL_BEYOND, _NEVER),
    ("arrival_within_the_list", "rentals_arrivalline", _ARRIVAL_BEYOND, _TOO_MANY),
)
_EVENTS = {"insert": "BEFORE INSERT", "update": "BEFORE UPDATE"}


def put_up(using: str = "default") -> None:
    """Make the triggers where they are not; safe to repeat. No more than a return where the tables
    are not there yet.
    """
    connection = connections[using]
    if not set(connection.introspection.table_names()) >= _TABLES:
        return
    make = _on_postgres if connection.vendor == "postgresql" else _on_sqlite
    with connection.cursor() as cursor:
        for guard in _GUARDS:
            for statement in make(*guard):
                cursor.execute(statement)


def take_down(using: str = "default") -> None:
    """Drop the triggers of SQLite; on PostgreSQL they stand in nobody's way."""
    connection = connections[using]
    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        for name, *_ in _GUARDS:
            for event in _EVENTS:
                cursor.execute(f"DROP TRIGGER IF EXISTS {name}_{event}")


def put_up_after_migrating(using: str, **_: Any) -> None:
    """The same as a receiver of `post_migrate`."""
    put_up(using)


def take_down_before_migrating(using: str, **_: Any) -> None:
    """The same as a receiver of `pre_migrate`."""
    take_down(using)


def _on_sqlite(name: str, table: str, condition: str, words: str) -> list[str]:
    return [
        f"CREATE TRIGGER IF NOT EXISTS {name}_{event} {moment} ON {table} WHEN {condition}"
        f" BEGIN SELECT RAISE(ABORT, '{words}'); END"
        for event, moment in _EVENTS.items()
    ]


def _on_postgres(name: str, table: str, condition: str, words: str) -> list[str]:
    raising = f"RAISE EXCEPTION '{words}' USING ERRCODE = 'integrity_constraint_violation'"
    return [
        f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS"
        f" $$ BEGIN IF {condition} THEN {raising}; END IF; RETURN NEW; END $$",
        f"DROP TRIGGER IF EXISTS {name} ON {table}",
        f"CREATE TRIGGER {name} BEFORE INSERT OR UPDATE ON {table}"
        f" FOR EACH ROW EXECUTE FUNCTION {name}()",
    ]
