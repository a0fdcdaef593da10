"""Sheets of labels, given by their dimensions in millimetres."""

from dataclasses import dataclass

A4_MM = (210.0, 297.0)
LETTER_MM = (215.9, 279.4)
_TOLERANCE = 0.05


@dataclass(frozen=True)
class SheetLayout:
    """One page of labels.

    ``pitch`` is the distance from one label's left (top) edge to the next one's; ``margin`` lies
    left of the first column and above the first row; ``nudge`` moves everything right and down, to
    make up for a printer that is off. All in millimetres. Raises ValueError, naming what does not
    fit, for labels that overlap or leave the page.
    """

    name: str
    page: tuple[float, float]
    columns: int
    rows: int
    label: tuple[float, float]
    pitch: tuple[float, float]
    margin: tuple[float, float]
    nudge: tuple[float, float] = (0.0, 0.0)

    def __post_init__(self) -> None:
        if self.columns < 1 or self.rows < 1:
            raise ValueError("a sheet has at least one row and one column of labels")
        if min(*self.label, *self.page) <= 0 or min(self.margin) < 0:
            raise ValueError("page and label must have a size, and margins cannot be negative")
        for axis, count, across in ((0, self.columns, "columns"), (1, self.rows, "rows")):
            if count > 1 and self.pitch[axis] < self.label[axis] - _TOLERANCE:
                raise ValueError(f"the {across} overlap: the pitch is smaller than the label")
            end = self.margin[axis] + self.pitch[axis] * (count - 1) + self.label[axis]
            if end > self.page[axis] + _TOLERANCE:
                raise ValueError(
                    f"{count} {across} reach to {end:.1f} mm, the page ends at"
                    f" {self.page[axis]:.1f} mm"
                )

    @property
    def count(self) -> int:
        """Labels on one sheet."""
        return self.columns * self.rows

    def place(self, position: int) -> tuple[float, float]:
        """Top left corner of a label, millimetres from the page's top left; positions run along the
        rows from 0.
        """
        row, column = divmod(position, self.columns)
        if not 0 <= row < self.rows:
            raise ValueError(f"the sheet has {self.count} labels, there is no label {position + 1}")
        return (
            self.margin[0] + self.nudge[0] + column * self.pitch[0],
            self.margin[1] + self.nudge[1] + row * self.pitch[1],
        )


def centred(
    name: str,
    page: tuple[float, float],
    columns: int,
    rows: int,
    label: tuple[float, float],
    gap: tuple[float, float] = (0.0, 0.0),
) -> SheetLayout:
    """A sheet whose labels stand in the middle of the page, ``gap`` millimetres between columns and
    rows.
    """
    pitch = (label[0] + gap[0], label[1] + gap[1])
    margin = tuple(
        round((page[i] - pitch[i] * (n - 1) - label[i]) / 2, 4)
        for i, n in ((0, columns), (1, rows))
    )
    return SheetLayout(name, page, columns, rows, label, pitch, (margin[0], margin[1]))


KIT_SHEET = centred("63.5 x 38.1 mm, 3 x 7 (A4)", A4_MM, 3, 7, (63.5, 38.1), (2.5, 0.0))
TAG_SHEET = centred("38.1 x 21.2 mm, 5 x 13 (A4)", A4_MM, 5, 13, (38.1, 21.2), (2.5, 0.0))
PARCEL_SHEET = centred("99.1 x 67.7 mm, 2 x 4 (A4)", A4_MM, 2, 4, (99.1, 67.7), (2.5, 0.0))
LETTER_SHEET = centred(
    "66.7 x 25.4 mm, 3 x 10 (US Letter)", LETTER_MM, 3, 10, (66.675, 25.4), (3.175, 0.0)
)
LETTER_PARCEL_SHEET = centred(
    "101.6 x 84.6 mm, 2 x 3 (US Letter)", LETTER_MM, 2, 3, (101.6, 84.6), (4.7, 0.0)
)

SHEETS = {
    sheet.name: sheet
    for sheet in (KIT_SHEET, TAG_SHEET, PARCEL_SHEET, LETTER_SHEET, LETTER_PARCEL_SHEET)
}
