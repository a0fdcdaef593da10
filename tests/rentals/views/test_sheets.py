"""Sheets of labels that the practice measures itself."""

import pytest
from django.db import IntegrityError
from django.urls import reverse

from rentals.models import LabelSheet
from rentals.paper.sheets import KIT_SHEET, SHEETS
from rentals.selectors.paper_facts.sheets import layout_of
from tests.factories import complete_kit
from tests.rentals.paper.reading import codes_in, page_sizes, picture

pytestmark = pytest.mark.django_db

# : An A4 sheet of two by seven, by cell size; the margins are arithmetic on ISO 216 A4: (210 - 2 x
# 99.1 - 2.5) / 2.
GOOD = {
    "name": "Two by seven",
    "page_width": "210",
    "page_height": "297",
    "columns": "2",
    "rows": "7",
    "label_width": "99.1",
    "label_height": "38.1",
    "pitch_across": "101.6",
    "pitch_down": "38.1",
    "margin_left": "4.65",
    "margin_top": "15.15",
    "nudge_right": "",
    "nudge_down": "-0.5",
}


def test_a_sheet_is_measured_and_printed_on(signed_in):
    answer = signed_in.post(reverse("rentals:sheet_new"), GOOD)
    assert answer.url == reverse("rentals:sheets")
    row = LabelSheet.objects.get()
    assert layout_of(row).count == 14 and layout_of(row).nudge == (0.0, -0.5)
    kit = complete_kit()
    assert "Two by seven" in signed_in.get(reverse("rentals:labels")).content.decode()
    asked = {"kind": "kit", "kit": kit.code, "sheet": "Two by seven", "start": 14}
    pdf = signed_in.get(reverse("rentals:labels_pdf"), asked)
    image = picture(pdf.content)
    # Label 14 is the last: right column, seventh row.
    assert (
        codes_in(image.crop((image.width // 2, image.height * 4 // 5, image.width, image.height)))
        != []
    )
    shown = signed_in.get(reverse("rentals:sheets")).content.decode()
    assert "14 labels of 99.1 × 38.1 mm" in shown and "-0.50 mm down" in shown


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"pitch_across": "90"}, "the columns overlap: the pitch is smaller than the label"),
        ({"rows": "8"}, "8 rows reach to 319.9 mm, the page ends at 297.0 mm"),
        ({"columns": "0"}, "A sheet has at least one row and one column of labels."),
        ({"columns": "61"}, "at most 60 columns"),
        ({"label_width": "0"}, "Page and label must have a size."),
        ({"margin_left": "-1"}, "Margins cannot be negative."),
        ({"nudge_down": "25"}, "no small correction"),
        ({"label_width": "wide"}, "Give a number"),
        ({"name": KIT_SHEET.name}, "A built-in sheet has this name"),
    ],
)
def test_measures_that_cannot_be_are_refused_in_words_and_kept(signed_in, changes, says):
    answer = signed_in.post(reverse("rentals:sheet_new"), GOOD | changes)
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert all(f'value="{value}"' in answer.content.decode() for value in changes.values())
    assert not LabelSheet.objects.exists()


def test_two_sheets_cannot_share_a_name(signed_in):
    signed_in.post(reverse("rentals:sheet_new"), GOOD)
    answer = signed_in.post(reverse("rentals:sheet_new"), GOOD)
    assert answer.status_code == 422 and LabelSheet.objects.count() == 1


def test_a_built_in_sheet_is_copied_changed_and_removed(signed_in):
    for name in SHEETS:
        page = signed_in.get(reverse("rentals:sheet_new"), {"like": name})
        copy = {field.name: field.value() for field in page.context["form"]} | {
            "nudge_right": "1.5",
            "nudge_down": "0",
        }
        assert signed_in.post(reverse("rentals:sheet_new"), copy).status_code == 302, name
    row = LabelSheet.objects.get(name=f"{KIT_SHEET.name}, ours")
    assert layout_of(row).place(4) == pytest.approx((74.75, 53.25))
    form = GOOD | {"name": "Changed"}
    signed_in.post(row.get_absolute_url(), form)
    row.refresh_from_db()
    assert (row.name, row.columns) == ("Changed", 2)
    answer = signed_in.get(reverse("rentals:calibration"), {"sheet": "Changed"})
    assert page_sizes(answer.content) == [pytest.approx((595.3, 841.9), abs=0.1)]
    signed_in.post(reverse("rentals:sheet_remove", args=[row.pk]))
    assert not LabelSheet.objects.filter(pk=row.pk).exists()


def test_the_database_refuses_a_sheet_without_labels():
    facts = {"label_width": 10, "label_height": 10, "pitch_across": 10, "pitch_down": 10}
    with pytest.raises(IntegrityError):
        LabelSheet.objects.create(
            name="none", columns=0, rows=1, margin_left=0, margin_top=0, **facts
        )


def test_setup_leads_to_the_sheets(signed_in):
    assert reverse("rentals:sheets") in signed_in.get(reverse("rentals:setup")).content.decode()
