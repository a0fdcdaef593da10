"""Rosters as a test reads them."""

from rentals.roster.reading import read_roster


def rows_of(content: bytes) -> list[tuple[str, ...]]:
    """Texts of every row that holds anything."""
    return [row.cells for row in read_roster(content).rows]
