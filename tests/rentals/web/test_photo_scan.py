"""A photo in place of a scan, without any script: one code is scanned, of several one is picked."""

import pytest
from django.urls import reverse
from PIL import Image

from rentals.actions.dispatch import dispatch
from rentals.web.photo_scan import pick_address
from tests.factories import assigned_loan, complete_kit, packed_loan
from tests.rentals.photos import photographed, printed_label, sent

pytestmark = pytest.mark.django_db


def test_a_photo_at_the_packing_bench_ticks_the_part(signed_in):
    loan = assigned_loan()
    part = loan.kit.parts.get(kind="charger")
    address = reverse("rentals:pack_scan", args=[loan.kit.code])
    answer = signed_in.post(address, {"scan": "", "photo": sent(printed_label(part.code))})
    assert answer.url == reverse("rentals:pack_kit", args=[loan.kit.code])
    assert loan.packing_lines.get(part=part).ticked_at
    assert answer["Kitdesk-Scan"] == "accepted"


def test_a_photo_of_a_part_receives_its_parcel_and_typing_goes_before_a_photo(signed_in):
    loan = dispatch(packed_loan().kit)
    first, second = loan.kit.parts.order_by("pk")[:2]
    address = reverse("rentals:receive_scan", args=[loan.kit.code])
    signed_in.post(address, {"photo": sent(photographed(printed_label(first.code)))})
    signed_in.post(address, {"scan": second.code, "photo": sent(printed_label(first.code))})
    lines = loan.return_check.lines
    for part in (first, second):
        assert lines.get(packing_line__part=part).outcome == "back"


def test_without_a_code_it_is_said_on_the_page_of_the_scan(signed_in):
    kit = assigned_loan().kit
    address = reverse("rentals:pack_scan", args=[kit.code])
    empty = {"photo": sent(Image.new("RGB", (400, 300)))}
    page = signed_in.post(address, empty, follow=True).content.decode()
    assert "No code can be read in this photo. Take it again closer" in page
    part = signed_in.post(
        address, {"photo": sent(Image.new("RGB", (400, 300)))}, headers={"HX-Request": "true"}
    )
    assert part["HX-Redirect"] == reverse("rentals:pack_kit", args=[kit.code])
    assert part["Kitdesk-Scan"] == "refused"


def test_of_several_codes_one_is_picked_and_scanned(signed_in):
    loan = assigned_loan()
    mine = loan.kit.parts.get(kind="charger")
    foreign = complete_kit(loan.kit.kit_type).parts.get(kind="charger")
    address = reverse("rentals:pack_scan", args=[loan.kit.code])
    label = printed_label(mine.code, foreign.code)
    page = signed_in.post(address, {"photo": sent(label)}, follow=True)
    text = page.content.decode()
    assert "2 codes were in the photo" in text
    assert f"Charger {foreign.code}, in kit {foreign.kit.code}." in text
    assert text.count(f'action="{address}"') == 2
    assert len(pick_address(("x",) * 40).split("code=")) == 13
