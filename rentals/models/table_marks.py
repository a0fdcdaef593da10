"""By what it is told whether anything in a table was changed since it was last read."""

from __future__ import annotations

from typing import ClassVar

from django.db import models


class TableMark(models.Model):
    """A mark of a table that the database itself draws anew with every change
    (`rentals/table_marks.py`). Drawn at random it never comes again, not even after a backup was
    put back, so the same mark means the same rows.
    """

    table = models.CharField(max_length=63, help_text="Its name in the database.")
    session = models.BigIntegerField(
        default=0,
        help_text=(
            "The database session that drew it, so that nobody waits for another; 0 for the first"
            " mark, and on SQLite for all."
        ),
    )
    mark = models.BigIntegerField()

    class Meta:
        ordering: ClassVar = ["table", "session"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["table", "session"], name="one_mark_a_session"),
        ]

    def __str__(self) -> str:
        return f"{self.table} {self.session}: {self.mark}"
