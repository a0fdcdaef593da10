import pytest

from rentals.paper.sheets import (
    A4_MM,
    KIT_SHEET,
    LETTER_MM,
    LETTER_PARCEL_SHEET,
    LETTER_SHEET,
    PARCEL_SHEET,
    SHEETS,
    TAG_SHEET,
    SheetLayout,
    centred,
)


@pytest.mark.parametrize(
    ("page", "columns", "rows", "label", "gap", "margin"),
    [
        # Common sheets by cell size; the geometry is arithmetic on ISO 216 A4 and ANSI A pages.
        (A4_MM, 3, 7, (63.5, 38.1), 2.5, (7.25, 15.15)),
        (A4_MM, 2, 7, (99.1, 38.1), 2.5, (4.65, 15.15)),
        (A4_MM, 2, 4, (99.1, 67.7), 2.5, (4.65, 13.10)),
        (A4_MM, 3, 6, (63.5, 46.6), 2.5, (7.25, 8.70)),
        (A4_MM, 5, 13, (38.1, 21.2), 2.5, (4.75, 10.70)),
        (A4_MM, 3, 8, (70, 37), 0, (0, 0.50)),
        (A4_MM, 4, 10, (52.5, 29.7), 0, (0, 0)),
        (LETTER_MM, 3, 10, (66.675, 25.4), 3.175, (4.7625, 12.7)),
    ],
)
def test_common_sheets_come_out_symmetric(page, columns, rows, label, gap, margin):
    assert centred("x", page, columns, rows, label, (gap, 0)).margin == pytest.approx(
        margin, abs=1e-3
    )


def test_twelve_rows_of_an_inch_do_not_fit_an_a4_page():
    with pytest.raises(ValueError, match="margins cannot be negative"):
        centred("x", A4_MM, 4, 12, (48.5, 25.4))
    with pytest.raises(ValueError, match=r"12 rows reach to 304.8 mm, the page ends at 297.0 mm"):
        SheetLayout("x", A4_MM, 4, 12, (48.5, 25.4), (48.5, 25.4), (8, 0))
    assert centred("x", A4_MM, 4, 11, (48.5, 25.4)).count == 44


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"pitch": (60, 38.1)}, "columns overlap"),
        ({"pitch": (66, 30)}, "rows overlap"),
        ({"margin": (-1, 0)}, "cannot be negative"),
        ({"label": (0, 10)}, "must have a size"),
        ({"rows": 0}, "at least one row"),
        ({"margin": (20, 15)}, "3 columns reach to 215.5 mm"),
    ],
)
def test_a_sheet_that_cannot_be_is_refused_with_what_is_wrong(changes, says):
    good = {
        "page": A4_MM,
        "columns": 3,
        "rows": 7,
        "label": (63.5, 38.1),
        "pitch": (66, 38.1),
        "margin": (7.25, 15.15),
    }
    assert SheetLayout("good", **good).count == 21
    with pytest.raises(ValueError, match=says):
        SheetLayout("bad", **good | changes)


def test_positions_run_along_the_rows_and_the_nudge_moves_all():
    assert KIT_SHEET.place(0) == pytest.approx((7.25, 15.15))
    assert KIT_SHEET.place(4) == pytest.approx((73.25, 53.25))
    nudged = SheetLayout(
        "n", A4_MM, 3, 7, (63.5, 38.1), (66, 38.1), (7.25, 15.15), nudge=(1.0, -0.5)
    )
    assert nudged.place(4) == pytest.approx((74.25, 52.75))
    with pytest.raises(ValueError, match="no label 22"):
        KIT_SHEET.place(21)


def test_built_in_sheets_go_by_their_size():
    assert {sheet.count for sheet in (KIT_SHEET, TAG_SHEET, PARCEL_SHEET, LETTER_SHEET)} == {
        21,
        65,
        8,
        30,
    }
    assert LETTER_PARCEL_SHEET.count == 6
    assert SHEETS["63.5 x 38.1 mm, 3 x 7 (A4)"] is KIT_SHEET
