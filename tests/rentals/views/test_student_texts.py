"""Setup of the texts of the student's page."""

import pytest
from django.urls import reverse

from rentals.actions.setup import save_practice
from rentals.models import Practice, StudentText
from rentals.selectors.student_texts import usual_student_words

pytestmark = pytest.mark.django_db


def test_a_text_is_changed_in_one_language_and_goes_back_to_usual(signed_in):
    address = reverse("rentals:student_text", args=["page.care", "de"])
    assert usual_student_words("page.care", "de") in signed_in.get(address).context["usual"]
    assert signed_in.post(address, {"body": " "}).status_code == 422
    assert signed_in.post(address, {"body": "Pfleglich behandeln."}).status_code == 302
    text = StudentText.objects.get()
    assert (text.key, text.language, text.body) == ("page.care", "de", "Pfleglich behandeln.")
    listed = signed_in.get(reverse("rentals:student_texts")).text
    assert "own words" in listed
    back = reverse("rentals:student_text_usual", args=["page.care", "de"])
    assert "Pfleglich behandeln." in signed_in.get(back).text
    signed_in.post(back)
    assert not StudentText.objects.exists()


def test_setup_says_why_no_student_gets_a_page(signed_in, django_assert_max_num_queries):
    address = reverse("rentals:student_texts")
    with django_assert_max_num_queries(8):
        assert "no address that students can open" in signed_in.get(address).text
    assert "Nobody gets it yet" in signed_in.get(reverse("rentals:setup")).text
    save_practice(Practice(name="Ease", site_url="https://desk.example"))
    assert "no address that students can open" not in signed_in.get(address).text


def test_there_is_no_text_and_no_language_but_those_listed(signed_in):
    for place in (["page.nothing", "de"], ["page.care", "tlh"], ["page.care", "x" * 300]):
        assert signed_in.get(reverse("rentals:student_text", args=place)).status_code == 404
