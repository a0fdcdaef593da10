"""What a connection to PostgreSQL asks of the server."""

from __future__ import annotations

from typing import Any


def without_machine_code(database: dict[str, Any]) -> None:
    """PostgreSQL would translate a query that it thinks dear to machine code before it answers,
    anew each time. At 500 kits, made to do so, it lost more by that than it gained (the figures
    are in sizing.md). What the address asks for comes after.
    """
    if database.get("ENGINE") == "django.db.backends.postgresql":
        asked = database.setdefault("OPTIONS", {})
        asked["options"] = f"-c jit=off {asked.get('options', '')}".strip()
