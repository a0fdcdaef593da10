"""Wordings in several languages: begun with a copy, previewed, kept, used, removed."""

import pytest
from django.urls import reverse

from rentals.actions.draft import draft
from rentals.models import MailWording, Message, Practice, Student
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db(transaction=True)

GERMAN = {
    "subject": "Koffer {kit}",
    "text": "Hallo {student},\n\nbitte bis {due} zurück ({days}).\n\n{to_return}\n{deposit}",
    "drafted_by_itself": "on",
}


def text_of(answer) -> str:
    return " ".join(answer.content.decode().split())


def test_a_wording_is_added_in_a_language_and_mails_use_it(signed_in):
    Student.objects.all().delete()
    Practice.objects.create(pk=1, name="Ease", currency="EUR")
    listed = text_of(signed_in.get("/setup/mail/"))
    assert "Sentences in the lists of mails" in listed
    page = reverse("rentals:mail_wording_in", args=["packing_list", "de"])
    chosen = signed_in.get("/setup/mail/packing_list/in/", {"language": "de"})
    assert chosen["Location"] == page
    begun = text_of(signed_in.get(page))
    assert "the German wording that Kitdesk comes with" in begun and "Guten Tag {student}" in begun
    polish = reverse("rentals:mail_wording_in", args=["packing_list", "pl"])
    begun = text_of(signed_in.get(polish))
    assert "Nothing is written in Polish yet" in begun and "Dear {student}," in begun
    loan = packed_loan()
    shown = text_of(signed_in.post(page, {**GERMAN, "loan": loan.pk, "preview": "1"}))
    assert "bitte bis" in shown and not MailWording.objects.exists()
    month = {1: "Januar", 2: "Februar", 3: "März", 4: "April", 5: "Mai", 6: "Juni", 7: "Juli"}
    month |= {8: "August", 9: "September", 10: "Oktober", 11: "November", 12: "Dezember"}
    german_day = f"{loan.due_on.day}. {month[loan.due_on.month]} {loan.due_on.year}"
    assert german_day in shown
    signed_in.post(page, GERMAN)
    assert "German, own" in text_of(signed_in.get("/setup/mail/"))
    Message.objects.all().delete()
    Student.objects.update(language="de-at")
    mail = draft("packing_list", loan)
    assert (
        mail.language == "de" and mail.subject.startswith("Koffer") and german_day in mail.body_text
    )
    assert "€ 80,00" in mail.body_text.replace("\xa0", " ")
    assert '<html lang="de">' in mail.body_html
    detail = text_of(signed_in.get(mail.get_absolute_url()))
    assert "German, the student’s language." in detail
    remove = reverse("rentals:mail_wording_remove", args=["packing_list", "de"])
    assert "The usual German wording for" in text_of(signed_in.get(remove))
    signed_in.post(remove)
    assert not MailWording.objects.exists()
    Message.objects.all().delete()
    usual = draft("packing_list", loan)
    assert usual.language == "de" and "Guten Tag" in usual.body_text
    Student.objects.update(language="pl")
    english = draft("packing_list", loan)
    assert english.pk == usual.pk and english.language == "en" and "Dear" in english.body_text
    detail = text_of(signed_in.get(english.get_absolute_url()))
    assert "there is no wording in Polish" in detail


def test_a_phrase_is_written_and_seen_in_its_mail(signed_in):
    packed_loan()
    page = reverse("rentals:mail_wording_in", args=["part_serial", "de"])
    shown = text_of(signed_in.post(page, {"text": "{part}, Nr. {serial}", "preview": "1"}))
    assert "- Verstärker, Nr. " in shown
    refused = signed_in.post(page, {"text": "{student}"})
    assert refused.status_code == 422 and "These names do: {part}" in text_of(refused)
    signed_in.post(page, {"text": "{part}, Nr. {serial}"})
    assert MailWording.objects.get().text == "{part}, Nr. {serial}"


@pytest.mark.parametrize(
    "address", ["/setup/mail/nothing/", "/setup/mail/shortfall/in/xx/", "/setup/mail/x/in/"]
)
def test_there_is_no_page_for_what_is_none(signed_in, address):
    assert signed_in.get(address).status_code == 404


def test_without_a_choice_it_goes_back_to_the_usual_language(signed_in):
    answer = signed_in.get("/setup/mail/shortfall/in/", {"language": "xx"})
    assert answer["Location"] == "/setup/mail/shortfall/"
