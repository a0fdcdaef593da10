"""Kits and parts on screen."""

import io
import uuid

import openpyxl
import pypdf
import pytest
from django.urls import reverse
from django.utils import timezone

from rentals.actions.issue import hold
from rentals.actions.register import fit_part, register_kit
from rentals.codes import make_code
from rentals.models import Kit, Part
from tests.factories import KitTypeFactory, assigned_loan, complete_kit, packed_loan, spare

pytestmark = pytest.mark.django_db


def test_kits_are_registered_with_codes_of_their_own(signed_in):
    kit_type = KitTypeFactory()
    form = {"kit_type": kit_type.pk, "count": 3, "note": "", "form_key": str(uuid.uuid4())}
    for _ in range(2):
        assert signed_in.post(reverse("rentals:kit_new"), form).status_code == 302
    assert Kit.objects.count() == 3
    assert len(set(Kit.objects.values_list("code", flat=True))) == 3


def test_a_new_kit_says_fit_its_parts_until_it_has_them_all(signed_in):
    fitted = list(complete_kit().parts.values_list("kind", flat=True))
    kit_type = Kit.objects.get().kit_type
    kit = register_kit(kit_type)
    page = signed_in.get(kit.get_absolute_url()).content.decode()
    assert "Nothing is fitted in it yet" in page and "Fit its parts" in page
    assert kit.code not in signed_in.get(reverse("readiness:bench")).content.decode()
    for number, kind in enumerate(fitted):
        page = signed_in.get(kit.get_absolute_url()).content.decode()
        assert ("Not all of its parts are fitted yet" in page) == bool(number)
        assert kit.code not in signed_in.get(reverse("readiness:bench")).content.decode()
        fit_part(kit, spare(kind))
    page = signed_in.get(kit.get_absolute_url()).content.decode()
    assert "It has never been on the bench: test it." in page and "Fit its parts" not in page
    assert kit.code in signed_in.get(reverse("readiness:bench")).content.decode()


def test_scores_that_all_pass_are_summed_up_in_one_line(signed_in):
    kit = complete_kit()
    for battery, summed_up in ((99.0, 1), (50.0, 0)):
        Kit.objects.filter(pk=kit.pk).update(
            scored_at=timezone.now(), score_continuity=98, score_noise=97, score_battery=battery
        )
        page = signed_in.get(reverse("rentals:kits")).content.decode()
        assert page.count("all pass") == page.count('<div class="wide">') == summed_up


def test_a_refused_form_keeps_what_was_typed(signed_in):
    KitTypeFactory()
    answer = signed_in.post(
        reverse("rentals:kit_new"), {"kit_type": "", "count": "0", "note": "blue box"}
    )
    page = answer.content.decode()
    assert "blue box" in page
    assert Kit.objects.count() == 0


def test_the_kit_page_says_what_lacks_and_offers_spares(signed_in):
    kit = complete_kit()
    old = kit.parts.get(kind="lead_set")
    new = spare("lead_set")
    swap = reverse("rentals:kit_swap", args=[kit.code, old.code])
    assert new.code in signed_in.get(swap).content.decode()
    answer = signed_in.post(swap, {"part": new.code, "to": "repair", "reason": "kinked"})
    assert answer.url == kit.get_absolute_url()
    page = signed_in.get(kit.get_absolute_url()).content.decode()
    assert "has not been tested" in page
    old.refresh_from_db()
    assert old.place == "repair"


def test_the_one_button_of_a_swap_heeds_where_the_old_part_goes_and_why(signed_in):
    kit = complete_kit()
    old, new = kit.parts.get(kind="lead_set"), spare("lead_set")
    swap = reverse("rentals:kit_swap", args=[kit.code, old.code])
    page = signed_in.get(swap).content.decode()
    assert page.count('<form method="post"') == 1
    assert page.count('name="spare"') == 1
    fate = {"to": "retired", "reason": "worn through"}
    for sent in ({"part": spare("lead_set").code, "spare": new.code}, {"part": ""}):
        assert signed_in.post(swap, sent | fate).status_code == 422
    signed_in.post(swap, {"spare": new.code} | fate)
    old.refresh_from_db()
    assert old.place == "retired"
    assert kit.parts.filter(pk=new.pk).exists()
    assert "worn through" in signed_in.get(kit.get_absolute_url()).content.decode()


def test_a_spare_of_another_kind_is_refused_beside_its_field(signed_in):
    kit = complete_kit()
    swap = reverse("rentals:kit_swap", args=[kit.code, kit.parts.get(kind="lead_set").code])
    answer = signed_in.post(swap, {"part": spare("charger").code, "to": "repair"})
    assert answer.status_code == 422
    assert "swap like for like" in answer.content.decode()
    assert kit.parts.filter(kind="lead_set").exists()


def test_hold_note_release_and_retire(signed_in):
    kit = complete_kit()
    signed_in.post(reverse("rentals:kit_hold", args=[kit.code]), {"reason": "smells"})
    signed_in.post(reverse("rentals:kit_note", args=[kit.code]), {"note": "aired for a day"})
    page = signed_in.get(kit.get_absolute_url()).content.decode()
    assert "Held: smells" in page
    assert "aired for a day" in page
    signed_in.post(reverse("rentals:kit_release", args=[kit.code]), {})
    signed_in.post(reverse("rentals:kit_retire", args=[kit.code]), {"reason": "worn out"})
    kit.refresh_from_db()
    assert kit.state == "retired"
    assert kit.code not in signed_in.get(reverse("rentals:kits")).content.decode()
    assert kit.code in signed_in.get(reverse("rentals:kits"), {"state": "retired"}).content.decode()


def test_the_list_filters_by_code_student_and_state(signed_in):
    loan, other = packed_loan(), complete_kit()
    kits = reverse("rentals:kits")
    found = signed_in.get(kits, {"q": loan.enrolment.student.name}).content.decode()
    assert loan.kit.code in found
    assert other.code not in found
    assert other.code in signed_in.get(kits, {"state": "shelf"}).content.decode()
    assert "No kit fits" in signed_in.get(kits, {"q": "nothing like it"}).content.decode()


def test_the_list_takes_the_same_queries_for_2_and_60_kits(
    signed_in, django_assert_max_num_queries
):
    kit_type = KitTypeFactory()
    for _ in range(2):
        packed_loan(complete_kit(kit_type))
    with django_assert_max_num_queries(20) as few:
        signed_in.get(reverse("rentals:kits"))
    for _ in range(8):
        complete_kit(kit_type)
    codes = [make_code("K", number) for number in range(5000, 5050)]
    Kit.objects.bulk_create([Kit(code=code, kit_type=kit_type) for code in codes])
    with django_assert_max_num_queries(len(few.captured_queries)):
        page = signed_in.get(reverse("rentals:kits")).content.decode()
    assert "1 to 50 of 60" in page


def test_exports_are_real_files_with_formulas_defused(signed_in):
    kit = packed_loan().kit
    Kit.objects.filter(pk=kit.pk).update(note="=1+1")
    csv_file = signed_in.get(reverse("rentals:kits_export", args=["csv"]))
    text = csv_file.getvalue().decode("utf-8-sig")
    assert kit.code in text
    assert "'=1+1" in text
    book = openpyxl.load_workbook(
        io.BytesIO(signed_in.get(reverse("rentals:kits_export", args=["xlsx"])).getvalue())
    )
    assert "'=1+1" in [cell.value for cell in book.active[2]]
    assert signed_in.get(reverse("rentals:kits_export", args=["exe"])).status_code == 404


def test_parts_are_registered_once_and_found(signed_in):
    form = {"kind": "amplifier", "serial": "AMP-7", "kit": ""}
    answer = signed_in.post(reverse("rentals:part_new"), form)
    part = Part.objects.get(serial="AMP-7")
    assert answer.url == part.get_absolute_url()
    twice = signed_in.post(reverse("rentals:part_new"), form | {"serial": "amp-7"})
    assert twice.status_code == 422
    assert f"already {part.code}" in twice.content.decode()
    assert "AMP-7" in signed_in.get(reverse("rentals:parts"), {"q": "amp"}).content.decode()
    signed_in.post(reverse("rentals:part_damage", args=[part.code]), {"note": "cracked"})
    assert "cracked" in signed_in.get(part.get_absolute_url()).content.decode()
    signed_in.post(
        reverse("rentals:part_move", args=[part.code]), {"to": "repair", "reason": "sent off"}
    )
    assert Part.objects.get(pk=part.pk).place == "repair"


def test_a_part_can_go_straight_into_a_kit(signed_in):
    kit = complete_kit()
    kit.parts.get(kind="licence_key")
    signed_in.post(
        reverse("rentals:kit_remove", args=[kit.code, kit.parts.get(kind="licence_key").code]),
        {"to": "lost"},
    )
    form = {
        "kind": "licence_key",
        "serial": "LK-9",
        "kit": kit.code.lower(),
        "expires_on": "2030-01-31",
    }
    assert signed_in.post(reverse("rentals:part_new"), form).url == kit.get_absolute_url()
    assert kit.parts.get(kind="licence_key").licencekey.expires_on.year == 2030


def test_labels_ask_for_the_sheet_and_then_print(signed_in):
    kit = complete_kit()
    labels = reverse("rentals:kit_labels")
    assert "1 label" in signed_in.get(labels).content.decode()
    pdf = signed_in.get(labels, {"sheet": "", "start": 2})
    assert pdf["Content-Type"] == "application/pdf"
    text = pypdf.PdfReader(io.BytesIO(pdf.content)).pages[0].extract_text().replace(" ", "")
    assert kit.code in text
    assert signed_in.get(labels, {"sheet": "", "start": 900}).status_code == 422
    parts = signed_in.get(
        reverse("rentals:part_labels"), {"sheet": "", "start": 1, "kit": kit.code}
    )
    assert len(pypdf.PdfReader(io.BytesIO(parts.content)).pages) == 1


@pytest.mark.parametrize("code", ["K9999X", "K0001", "nonsense", "%00", "P0001A"])
def test_addresses_of_nothing_are_not_found(signed_in, code):
    for name in ("kit", "part", "kit_hold", "kit_history"):
        assert signed_in.get(reverse(f"rentals:{name}", args=[code])).status_code == 404


def test_the_history_is_paged(signed_in):
    kit = complete_kit()
    for number in range(60):
        signed_in.post(reverse("rentals:kit_note", args=[kit.code]), {"note": f"note {number}"})
    first = signed_in.get(reverse("rentals:kit_history", args=[kit.code])).content.decode()
    assert "note 59" in first
    assert "note 3<" not in first


def test_the_list_says_why_a_kit_is_held_beside_its_state(signed_in):
    loan = assigned_loan()
    for kit in (loan.kit, complete_kit()):
        hold(kit, reason="cracked housing")
    cells = signed_in.get(reverse("rentals:kits")).content.decode().split('<td data-label="')
    states = [cell for cell in cells if cell.startswith("State")]
    assert [("cracked housing" in cell) for cell in states] == [True, True]
