"""The scan box by photo, and picking one code of several."""

import pytest
from django.urls import reverse
from PIL import Image

from tests.factories import complete_kit, spare
from tests.rentals.photos import printed_label, sent

pytestmark = pytest.mark.django_db


def test_a_photo_for_the_scan_box_is_looked_up(signed_in):
    part = spare("charger")
    address = reverse("rentals:label_photo")
    assert 'capture="environment"' in signed_in.get(address).content.decode()
    answer = signed_in.post(address, {"photo": sent(printed_label(part.code))}, follow=True)
    assert answer.redirect_chain[-1][0] == part.get_absolute_url()
    refused = signed_in.post(address, {"photo": sent(Image.new("RGB", (400, 300)))})
    assert refused.status_code == 422
    assert "No code can be read in this photo" in refused.content.decode()
    assert signed_in.post(address).context["form"].errors["photo"]


def test_several_codes_lead_to_what_they_mean(signed_in):
    kit, part = complete_kit(), spare("charger")
    label = printed_label(kit.code, part.code)
    page = signed_in.post(reverse("rentals:label_photo"), {"photo": sent(label)}, follow=True)
    text = page.content.decode()
    for code in (kit.code, part.code):
        assert f'href="/scan/?q={code}"' in text


@pytest.mark.parametrize(
    "to", ["https://elsewhere.example/", "/kits/", "//elsewhere.example/pack/", "/pack/x/close/"]
)
def test_a_picked_code_is_posted_to_a_scan_only(signed_in, to):
    answer = signed_in.get(reverse("rentals:pick_code"), {"to": to, "code": "K0001O"})
    assert answer.status_code == 404


def test_no_code_and_nonsense_are_answered_in_words(signed_in):
    address = reverse("rentals:pick_code")
    assert "No code was read" in signed_in.get(address).content.decode()
    page = signed_in.get(address, {"code": ["<script>alert(1)</script>", "", "x" * 3000]})
    assert page.status_code == 200 and "<script>alert" not in page.content.decode()
