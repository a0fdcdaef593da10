"""Where do rows and the log differ? Pieces of a table that are as the log has them are passed over
at once, so that only the others need be looked at row by row.
"""

from __future__ import annotations

from collections.abc import Iterator

from django.db.models import QuerySet

from rentals.models import LogLine
from rentals.plain_rows import plain_rows

from .tables import SealedTable
from .unreadable import SIGNS

_CHUNK = 5000
#: From the first number of a stretch to before its last; None where it has no end.
Stretch = tuple[int, int | None]


def differing(table: SealedTable, stretch: Stretch, size: int = _CHUNK) -> Iterator[Stretch]:
    """Pieces of a stretch, in their order, whose rows (`size` at most) are not one by one as the
    log has them, or could not be read; the last piece is what lies behind all rows, where the log
    knows of any there.
    """
    first, last = stretch
    while True:
        found: dict[int, str] | None = None
        try:
            found = table.quick_digests((first, last), size)
            numbers = list(found)
        except SIGNS:
            numbers = list(table.within((first, last)).values_list("pk", flat=True)[:size])
        # No act gives a number below 1.
        if (numbers[0] < 1) if numbers else (found is None):
            break
        if numbers:
            piece = first, numbers[-1] + 1
            if found is None or not _as_held(table, piece, found):
                yield piece
            first = piece[1]
        if found is not None and len(numbers) < size:
            if lines_of_rows(table, (first, last)).exists():
                yield first, last
            return
    yield first, last


def _as_held(table: SealedTable, piece: Stretch, found: dict[int, str]) -> bool:
    held = dict(plain_rows(lines_of_rows(table, piece)))
    # What was deleted has a last line with no digest.
    return found == held or found == {row: digest for row, digest in held.items() if digest}


def lines_of_rows(table: SealedTable, stretch: Stretch) -> QuerySet[LogLine, tuple[int, str]]:
    """Number and digest of every state of the rows of a stretch, each row's in their order."""
    first, last = stretch
    lines = LogLine.objects.filter(table=table.name, row__gte=max(first, 1))
    if last is not None:
        lines = lines.filter(row__lt=last)
    return lines.order_by("row", "position").values_list("row", "digest")
