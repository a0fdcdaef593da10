"""The pages behind a student's link."""

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from rentals.actions.setup import save_practice
from rentals.actions.student_texts import save_student_text
from rentals.models import Practice, Student
from rentals.selectors.student_links import token_of_link
from tests.rentals.arrivals import loan_away

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clean_cache")]
ROUTES = ("my_kit", "my_kit_use", "my_kit_arrival", "my_kit_return", "my_kit_sheet")


@pytest.fixture
def practice() -> Practice:
    facts = {"street": "Hauptplatz 1", "city": "Linz", "postcode": "4020", "country": "AT"}
    return save_practice(Practice(name="Ease", site_url="https://desk.example", **facts))


@pytest.fixture
def loan(practice):
    return loan_away()


def page(loan, route, **data):
    token = token_of_link(loan.student_links.get())
    address = reverse(f"rentals:{route}", args=[token])
    return Client().post(address, data) if data else Client().get(address)


@pytest.mark.parametrize("route", ROUTES)
def test_each_page_shows_this_loan_and_no_more_of_the_student_than_needed(
    loan, route, django_assert_max_num_queries
):
    stranger = loan_away()
    student = loan.enrolment.student
    with django_assert_max_num_queries(16):
        shown = page(loan, route)
    assert shown.status_code == 200 and shown["Cache-Control"] == "no-store"
    assert stranger.kit.code not in shown.text
    for private in (student.email, student.street, student.phone, student.name):
        assert not private or private not in shown.text


def test_the_first_page_names_contents_bags_and_days(loan):
    shown = page(loan, "my_kit").text
    for line in loan.packing_lines.all():
        assert line.name in shown and line.inner_bag in shown
    assert "<svg" in shown and "<script" not in shown


def test_the_owners_words_stand_on_the_page_escaped(loan):
    save_student_text("page.care", "en", "Be <b>kind</b> to it.\n\n- one\n- two")
    shown = page(loan, "my_kit_use").text
    assert "Be &lt;b&gt;kind&lt;/b&gt; to it." in shown and "<li>one</li>" in shown
    assert "physician" in shown and "not for diagnosis" in shown


def test_the_student_says_that_it_is_posted(loan):
    today = timezone.localdate()
    assert page(loan, "my_kit_return", on="never").status_code == 422
    sent = page(loan, "my_kit_return", on=today.isoformat(), tracking_number="RR 123 AT")
    assert sent.status_code == 302
    loan.refresh_from_db()
    assert (loan.sent_back_on, loan.return_tracking_number) == (today, "RR123AT")
    event = loan.events.order_by("pk").last()
    assert event.actor is None and event.text.startswith("The student, on their page:")
    again = page(loan, "my_kit_return")
    assert "RR123AT" in again.text and "<form" not in again.text


def test_the_sheet_has_the_kits_code_as_a_qr_code_and_what_comes_back(loan):
    shown = page(loan, "my_kit_sheet").text
    assert "Hauptplatz 1" in shown and 'class="qr"' in shown
    assert all(
        (line.name in shown) is line.comes_back
        for line in loan.packing_lines.all()
        if not loan.packing_lines.filter(comes_back=not line.comes_back, name=line.name).exists()
    )


def test_the_student_chooses_the_language_of_page_and_mails(loan):
    assert page(loan, "my_kit_language", language="klingonish").status_code == 302
    page(loan, "my_kit_language", language="de")
    loan.enrolment.student.refresh_from_db()
    assert loan.enrolment.student.language == "de"
    assert 'lang="de"' in page(loan, "my_kit").text


@pytest.mark.parametrize(
    ("own", "shown"), [("", "en"), ("de", "de"), ("de-ch", "de"), ("fr", "fr"), ("el", "en")]
)
def test_the_language_of_the_page_is_the_one_chosen_in_its_list(loan, own, shown):
    Student.objects.update(language=own)
    words = " ".join(page(loan, "my_kit").content.decode().split())
    assert f'<option value="{shown}" lang="{shown}" selected>' in words
    assert words.count("selected>") == 1
