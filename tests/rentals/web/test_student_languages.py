"""Every page behind a student's link is wholly in the student's language."""

import re
from collections.abc import Iterator
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse

from rentals.actions.dispatch import dispatch
from rentals.models import PackingLine, Student
from rentals.selectors.student_links import token_of_link
from rentals.urls.student import urlpatterns
from tests.factories import packed_loan
from tests.rentals.wrong_forms import wrong_forms

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clean_cache")]

LANGUAGES = ["de", "fr", "es"]
#: Attributes whose words a student hears or sees.
_SPOKEN = re.compile(r'\b(?:aria-label|alt|placeholder|title|value)="([^"]*)"')


def _words_of(page: str) -> str:
    body = re.sub(r"(?s)<(style|script|svg)\b.*?</\1>", " ", page)
    # A box for a date holds it in ISO 8601; the browser shows it in the reader's form.
    body = re.sub(r'<input[^>]*type="date"[^>]*>', " ", body)
    attributes = " \n ".join(_SPOKEN.findall(body))
    return unescape(re.sub(r"<[^>]+>", " ", body) + " \n " + attributes)


def _addresses(token: str) -> Iterator[str]:
    """The pages that need nothing but the link itself."""
    for pattern in urlpatterns:
        if set(pattern.pattern.converters) == {"token"}:
            yield reverse(f"rentals:{pattern.name}", kwargs={"token": token})


def test_no_page_holds_english_words_dates_numbers_or_amounts():
    loan = dispatch(packed_loan().kit)
    token = token_of_link(loan.student_links.get(revoked_at=None))
    client, seen = Client(), 0
    for language in LANGUAGES:
        Student.objects.update(language=language)
        for address in _addresses(token):
            answer = client.get(address)
            if answer.status_code == 302:
                continue
            page = answer.content.decode()
            assert f'<html lang="{language}">' in page, address
            assert wrong_forms(_words_of(page), language) == [], (address, language)
            seen += answer.status_code == 200
    assert seen >= len(LANGUAGES)


def test_names_of_the_ready_list_are_translated_and_typed_ones_stay():
    loan = dispatch(packed_loan().kit)
    PackingLine.objects.filter(loan=loan, part_kind="charger").update(name="Charger")
    PackingLine.objects.filter(loan=loan, part_kind="amplifier").update(name="Charger of mine")
    Student.objects.update(language="de-at")
    token = token_of_link(loan.student_links.get(revoked_at=None))
    for route in ("my_kit", "my_kit_arrival", "my_kit_sheet"):
        page = Client().get(reverse(f"rentals:{route}", kwargs={"token": token}))
        words = _words_of(page.content.decode())
        assert "Ladegerät" in words and "Charger of mine" in words, route
    kit = Client().get(reverse("rentals:my_kit", kwargs={"token": token})).content.decode()
    assert re.search(r'value="de"\s+lang="de"\s+selected', kit)


def test_a_refused_page_is_in_the_language_of_the_browser():
    answer = Client().get(
        "/my-kit/wrong/", headers={"Accept-Language": "it, fr-CH;q=0.8, de;q=0.5"}
    )
    words = _words_of(answer.content.decode())
    assert answer.status_code == 404 and "Cette adresse n’ouvre rien" in words
    assert wrong_forms(words, "fr") == []
