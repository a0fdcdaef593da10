"""What the database itself refuses of the ledger: a changed or deleted entry, a second currency on
one loan, a reversal that does not mirror its entry.

Balance needs no guard: one row holds both sides. Tables that a migration rebuilds lose their
triggers on SQLite, so they are put up again after every `migrate`.
"""

from __future__ import annotations

from typing import Any

from django.db import connections

_TABLE = "rentals_entry"
#: All but `memo`, which may be emptied: words about a person can be erased, money cannot.
_FIXED = (
    "id",
    "loan_id",
    "kind",
    "debit",
    "credit",
    "amount",
    "currency",
    "day",
    "at",
    "by_id",
    "way",
    "shortfall_id",
    "reverses_id",
    "taken_over",
)

_CHANGED = "an entry of the ledger is never changed or deleted: reverse it"
_CURRENCY = "a loan holds one currency"
_MIRROR = "a reversal mirrors an entry of its loan that is no reversal"

_OTHER_CURRENCY = (
    "EXISTS (SELECT 1 FROM rentals_entry e"
    " WHERE e.loan_id = NEW.loan_id AND e.currency <> NEW.currency)"
)
_NO_MIRROR = (
    "NEW.reverses_id IS NOT NULL AND NOT EXISTS (SELECT 1 FROM rentals_entry e"
    " WHERE e.id = NEW.reverses_id AND e.loan_id = NEW.loan_id AND e.reverses_id IS NULL"
    " AND e.debit = NEW.credit AND e.credit = NEW.debit AND e.amount = NEW.amount"
    " AND e.currency = NEW.currency)"
)
#: Triggers of SQLite: name, event, condition, what is said.
_SQLITE = {
    "ledger_one_currency": ("BEFORE INSERT", _OTHER_CURRENCY, _CURRENCY),
    "ledger_true_reversal": ("BEFORE INSERT", _NO_MIRROR, _MIRROR),
    "ledger_never_deleted": ("BEFORE DELETE", "1", _CHANGED),
    "ledger_never_changed": (
        "BEFORE UPDATE",
        "NEW.memo <> '' OR " + " OR ".join(f"NEW.{name} IS NOT OLD.{name}" for name in _FIXED),
        _CHANGED,
    ),
}


def put_up(using: str = "default") -> None:
    """Make the triggers where they are not; safe to repeat. No more than a return where the table
    is not there yet.
    """
    connection = connections[using]
    if _TABLE not in connection.introspection.table_names():
        return
    statements = _on_postgres() if connection.vendor == "postgresql" else _on_sqlite()
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


def put_up_after_migrating(using: str, **_: Any) -> None:
    """The same as a receiver of `post_migrate`."""
    put_up(using)


def _on_sqlite() -> list[str]:
    return [
        f"CREATE TRIGGER IF NOT EXISTS {name} {event} ON {_TABLE} WHEN {condition}"
        f" BEGIN SELECT RAISE(ABORT, '{words}'); END"
        for name, (event, condition, words) in _SQLITE.items()
    ]


def _on_postgres() -> list[str]:
    fixed = " OR ".join(f"NEW.{name} IS DISTINCT FROM OLD.{name}" for name in _FIXED)
    # The lock lets two entries of one loan come one after the other, so that both see the currency.
    entered = (
        "PERFORM 1 FROM rentals_loan WHERE id = NEW.loan_id FOR NO KEY UPDATE;"
        f" IF {_OTHER_CURRENCY} THEN {_raise(_CURRENCY)} END IF;"
        f" IF {_NO_MIRROR} THEN {_raise(_MIRROR)} END IF; RETURN NEW;"
    )
    kept = (
        f"IF TG_OP = 'DELETE' THEN {_raise(_CHANGED)} END IF;"
        f" IF NEW.memo <> '' OR {fixed} THEN {_raise(_CHANGED)} END IF; RETURN NEW;"
    )
    return [
        *_trigger("ledger_entered", "BEFORE INSERT", entered),
        *_trigger("ledger_kept", "BEFORE UPDATE OR DELETE", kept),
    ]


def _raise(words: str) -> str:
    return f"RAISE EXCEPTION '{words}' USING ERRCODE = 'integrity_constraint_violation';"


def _trigger(name: str, event: str, body: str) -> list[str]:
    return [
        f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS"
        f" $$ BEGIN {body} END $$",
        f"DROP TRIGGER IF EXISTS {name} ON {_TABLE}",
        f"CREATE TRIGGER {name} {event} ON {_TABLE} FOR EACH ROW EXECUTE FUNCTION {name}()",
    ]
