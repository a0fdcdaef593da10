"""All tables in one list."""

from __future__ import annotations

from .keeping import Table
from .of_students import OF_STUDENTS
from .of_the_desk import OF_THE_DESK
from .of_things import OF_THINGS

TABLES: tuple[Table, ...] = (*OF_STUDENTS, *OF_THINGS, *OF_THE_DESK)


def undecided(model: str, columns: set[str]) -> set[str]:
    """Columns of a model that no table of the list decides on."""
    decided = {name for table in TABLES if table.model == model for name in table.columns}
    return columns - decided
