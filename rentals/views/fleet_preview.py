"""The preview of a fleet's table as the page shows it."""

from __future__ import annotations

from dataclasses import dataclass

from rentals.counts import counted
from rentals.forms.fleet import FleetForm
from rentals.marks import Mark, Sign, mark_of
from rentals.roster.fleet_rows import (
    FleetOnFile,
    FleetOutcome,
    FleetRow,
    fingerprint,
    judge_fleet,
    name_key,
)
from rentals.roster.fleet_table import NO_COLUMN, FleetTable
from rentals.roster.fleet_words import FLEET_FIELDS, KIND_LABELS

_SIGNS = {
    FleetOutcome.NEW: Sign.SUCCESS,
    FleetOutcome.SPARE: Sign.NOTE,
    FleetOutcome.THERE: Sign.ENDED,
    FleetOutcome.WRONG: Sign.ERROR,
}


@dataclass(frozen=True)
class ShownFleetRow:
    """A row with its mark, and the kind as the desk calls it."""

    row: FleetRow
    mark: Mark
    kind: str


@dataclass(frozen=True)
class FleetPreview:
    """All rows, those in the way first, and how many of each sort; `seen` is confirmed with the
    press.
    """

    rows: tuple[ShownFleetRow, ...]
    wrong_rows: set[int]
    new_kits: int
    new_parts: int
    spares: int
    there: int
    seen: str

    @property
    def wrong(self) -> int:
        return len(self.wrong_rows)

    @property
    def to_do(self) -> bool:
        """Whether confirming does anything."""
        return not self.wrong and bool(self.new_parts or self.spares)

    @property
    def sentence(self) -> str:
        """What stands in the way, or what confirming does."""
        if self.wrong:
            rows = counted(self.wrong, "row stands", "rows stand")
            return f"{rows} in the way. Correct the table in the box; nothing is kept before."
        kits = counted(self.new_kits, "new kit", "new kits")
        parts = counted(self.new_parts, "new part", "new parts")
        spares = counted(self.spares, "spare goes in", "spares go in") if self.spares else ""
        there = f"{self.there} already there" if self.there else ""
        return ", ".join(filter(None, (kits, parts, spares, there))) + "."

    @property
    def act(self) -> str:
        """Words of the button."""
        kits = counted(self.new_kits, "kit", "kits")
        parts = counted(self.new_parts + self.spares, "part", "parts")
        return f"Register {kits} and {parts}" if self.new_kits else f"Register {parts}"


def preview_fleet(table: FleetTable, on_file: FleetOnFile) -> FleetPreview:
    """Judge every row and count what comes of them."""
    rows = judge_fleet(table, on_file)
    outcomes = [row.outcome for row in rows]
    wrong = {row.number for row in rows if row.outcome == FleetOutcome.WRONG}
    good = [row for row in rows if row.number not in wrong]
    return FleetPreview(
        rows=tuple(_shown(row) for row in sorted(rows, key=lambda row: row.number not in wrong)),
        wrong_rows=wrong,
        new_kits=len({name_key(row.new_kit) for row in good if row.new_kit}),
        new_parts=outcomes.count(FleetOutcome.NEW),
        spares=outcomes.count(FleetOutcome.SPARE),
        there=outcomes.count(FleetOutcome.THERE),
        seen=fingerprint(rows),
    )


def _shown(row: FleetRow) -> ShownFleetRow:
    kind = KIND_LABELS.get(row.kind, row.kind_text).capitalize()
    return ShownFleetRow(row, mark_of(_SIGNS[row.outcome], row.outcome.value), kind)


@dataclass(frozen=True)
class ColumnChoice:
    """Which column holds a field: `options` are the value in the form, its words, and whether it
    is chosen.
    """

    name: str
    label: str
    options: tuple[tuple[str, str, bool], ...]


def column_choices(form: FleetForm) -> tuple[ColumnChoice, ...]:
    """The choice of columns of a table that was read; none before."""
    if not form.is_bound or form.fleet is None:
        return ()
    chosen = form.chosen_columns()
    return tuple(_choice(name, label, form.fleet, chosen) for name, label in FLEET_FIELDS.items())


def _choice(name: str, label: str, table: FleetTable, chosen: dict[str, int]) -> ColumnChoice:
    picked = chosen.get(name)
    options = [("", "as its heading says", picked is None)]
    if name == "kit":
        options.append((str(NO_COLUMN), "no column: all become spares", picked == NO_COLUMN))
    options += [
        (str(index), head or f"Column {index + 1}", picked == index)
        for index, head in enumerate(table.columns.heads)
    ]
    return ColumnChoice(f"column_{name}", label, tuple(options))
