"""Sheets of labels: those built in and those that the practice measured itself."""

from __future__ import annotations

from rentals.errors import Refused
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


def check_sheet(sheet: LabelSheet) -> None:
    """Raise Refused for labels that overlap or leave the page, and for the name of a built-in
    sheet.
    """
    if sheet.name in SHEETS:
        raise Refused("A built-in sheet has this name. Choose another.", field="name")
    try:
        layout_of(sheet)
    except ValueError as wrong:
        raise Refused(f"These measures do not work: {wrong}.") from wrong


def layouts_at_hand() -> dict[str, SheetLayout]:
    """Built-in sheets and the practice's own, by name."""
    return SHEETS | {row.name: layout_of(row) for row in LabelSheet.objects.all()}
