"""Sheets of labels: those built in and those that the practice measured itself."""

from __future__ import annotations

from rentals.models import LabelSheet
from rentals.paper.sheets import SHEETS, SheetLayout


def layout_of(row: LabelSheet) -> SheetLayout:
    """A sheet that the practice measured itself. Raises ValueError, saying what does not fit (see
    ``SheetLayout``).
    """
    return SheetLayout(
        row.name,
        (float(row.page_width), float(row.page_height)),
        row.columns,
        row.rows,
        (float(row.label_width), float(row.label_height)),
        (float(row.pitch_across), float(row.pitch_down)),
        (float(row.margin_left), float(row.margin_top)),
        (float(row.nudge_right), float(row.nudge_down)),
    )


def layouts_at_hand() -> dict[str, SheetLayout]:
    """Built-in sheets and the practice's own, by name."""
    return SHEETS | {row.name: layout_of(row) for row in LabelSheet.objects.all()}
