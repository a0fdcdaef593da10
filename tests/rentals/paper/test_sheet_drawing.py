from rentals.paper.sheet_drawing import drawn_sheet, number_type_mm, sheets_needed
from rentals.paper.sheets import KIT_SHEET, TAG_SHEET


def test_labels_before_the_first_free_one_are_used_and_those_after_the_last_are_free():
    slots = drawn_sheet(KIT_SHEET, start=3, count=4)
    assert len(slots) == KIT_SHEET.count == 21
    assert [slot.use for slot in slots[:8]] == ["used"] * 2 + ["print"] * 4 + ["free"] * 2
    assert [slot.number for slot in slots] == list(range(1, 22))


def test_a_label_stands_where_the_sheet_has_it_with_its_number_in_the_middle():
    first = drawn_sheet(KIT_SHEET, start=1, count=1)[0]
    # 3 columns of 63.5 mm with 2.5 mm between on 210 mm; 7 rows of 38.1 mm on 297 mm.
    assert (first.x, first.y) == (7.25, 15.15)
    assert first.middle == (39.0, 34.2)


def test_a_sheet_already_begun_takes_one_more_when_it_runs_over():
    assert sheets_needed(KIT_SHEET, start=1, count=21) == 1
    assert sheets_needed(KIT_SHEET, start=2, count=21) == 2
    assert sheets_needed(KIT_SHEET, start=1, count=0) == 0


def test_numbers_stay_inside_small_labels():
    assert number_type_mm(KIT_SHEET) == 9.0
    assert number_type_mm(TAG_SHEET) == 9.0
    assert number_type_mm(TAG_SHEET) < TAG_SHEET.label[1]
