"""The first page of an empty desk."""

import threading

import pytest
from django.contrib.auth import get_user_model
from django.db import connection
from django.test import Client
from django.urls import reverse

from kitdesk.owner import OwnerExists, create_owner
from rentals.models import Practice

GOOD = {
    "practice": "Quiet Hands",
    "name": "Ada Maria Lind",
    "username": "ada",
    "email": "ada@desk.example",
    "password1": "quiet-bow-arm-42",
    "password2": "quiet-bow-arm-42",
}


@pytest.mark.django_db
@pytest.mark.parametrize("path", ["/account/login/", "/account/second-step/"])
def test_every_page_of_an_empty_desk_leads_to_it(path):
    assert Client().get(path).headers["Location"] == reverse("first_run")


@pytest.mark.django_db
def test_health_answers_on_an_empty_desk():
    assert Client().get("/health").status_code == 200


@pytest.mark.django_db
def test_makes_the_owner_names_the_practice_and_signs_in():
    client = Client()
    assert b"Set up this desk" in client.get(reverse("first_run")).content
    answer = client.post(reverse("first_run"), GOOD)
    assert answer.headers["Location"] == "/"
    owner = get_user_model().objects.get()
    assert (owner.username, owner.get_full_name(), owner.email) == (
        "ada",
        "Ada Maria Lind",
        "ada@desk.example",
    )
    assert owner.is_superuser
    assert client.session["_auth_user_id"] == str(owner.pk)
    practice = Practice.objects.get()
    assert (practice.name, practice.instructor, practice.email) == (
        "Quiet Hands",
        "Ada Maria Lind",
        "ada@desk.example",
    )
    assert practice.site_url == ""


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("username", "", "Fill this in"),
        ("username", "a b", "has letters, digits and"),
        ("email", "ada at desk", "Give an e-mail address"),
        ("password2", "another-one-42", "The two passwords differ"),
        ("password1", "short", "The two passwords differ"),
        ("name", "", "Fill this in"),
        ("practice", "x" * 121, "at most 120 characters"),
    ],
)
def test_a_wrong_entry_is_named_and_nothing_typed_is_lost(field, value, sentence):
    answer = Client().post(reverse("first_run"), GOOD | {field: value})
    assert answer.status_code == 200
    assert sentence in answer.content.decode()
    kept = "practice" if field != "practice" else "name"
    assert GOOD[kept] in answer.content.decode()
    assert not get_user_model().objects.exists()


@pytest.mark.django_db
def test_a_common_password_is_refused():
    given = GOOD | {"password1": "password123", "password2": "password123"}
    assert "too common" in Client().post(reverse("first_run"), given).content.decode()


def test_is_closed_once_there_is_an_owner(owner):
    for answer in (Client().get(reverse("first_run")), Client().post(reverse("first_run"), GOOD)):
        assert answer.headers["Location"] == reverse("account_login")
    assert get_user_model().objects.count() == 1


def test_a_second_owner_is_refused(owner):
    with pytest.raises(OwnerExists):
        create_owner("second", "quiet-bow-arm-43")


@pytest.mark.django_db(transaction=True)
def test_two_first_pages_sent_at_once_make_one_owner():
    gate, outcomes = threading.Barrier(2), []

    def send(name: str) -> None:
        try:
            gate.wait(timeout=600)
            create_owner(name, "quiet-bow-arm-42")
            outcomes.append("made")
        except OwnerExists:
            outcomes.append("refused")
        finally:
            connection.close()

    senders = [threading.Thread(target=send, args=(name,)) for name in ("ada", "ben")]
    for sender in senders:
        sender.start()
    for sender in senders:
        sender.join(timeout=600)
    assert sorted(outcomes) == ["made", "refused"]
    assert get_user_model().objects.count() == 1
