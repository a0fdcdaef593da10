"""The owner makes the helpers' accounts, says what each may do, and closes them."""

import html
import re

import pytest
from django.contrib.auth import get_user_model
from django.contrib.auth.hashers import MD5PasswordHasher, make_password
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.urls import reverse

from kitdesk.people import add_helper, roles_held, set_open, set_roles
from kitdesk.roles.role import DeskRole
from rentals.errors import Refused
from rentals.verify import verify

BACKEND = "allauth.account.auth_backends.AuthenticationBackend"
GOOD = {
    "name": "Ben Okoro Vale",
    "roles": ["packer"],
    "username": "ben",
    "email": "ben@desk.example",
    "password1": "slow-left-hand-77",
    "password2": "slow-left-hand-77",
}


@pytest.fixture
def helper(db) -> User:
    return add_helper("ben", make_password("slow-left-hand-77"), [DeskRole.PACKER], name="Ben Vale")


def test_the_owner_adds_a_helper_who_is_no_owner(signed_in):
    answer = signed_in.post(reverse("people"), GOOD, follow=True)
    assert "Ben Okoro Vale can sign in as ben." in answer.content.decode()
    helper = get_user_model().objects.get(username="ben")
    assert not helper.is_superuser and not helper.is_staff
    assert roles_held(helper) == {DeskRole.PACKER}
    assert helper.check_password("slow-left-hand-77")


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("username", "owner", "signs in with this name already"),
        ("password1", "benben", "The two passwords differ"),
        ("name", "", "Fill this in"),
        ("roles", [], "Tick at least one role"),
    ],
)
def test_a_wrong_entry_is_named_and_kept(field, value, sentence, signed_in):
    answer = signed_in.post(reverse("people"), GOOD | {field: value})
    assert sentence in answer.content.decode()
    assert "ben@desk.example" in answer.content.decode()
    assert get_user_model().objects.count() == 1


def test_a_name_that_was_taken_meanwhile_is_refused(helper):
    with pytest.raises(Refused, match="signs in with this name already") as refused:
        add_helper("ben", make_password("slow-left-hand-77"), [DeskRole.PACKER])
    assert refused.value.field == "username"


def test_a_closed_account_is_signed_out_at_once_and_can_be_opened_again(signed_in, helper):
    client = Client()
    client.force_login(helper, backend=BACKEND)
    assert client.get(reverse("account_change_password")).status_code == 200
    signed_in.post(reverse("people_open", args=[helper.pk]), {"open": "0"})
    assert client.get(reverse("account_change_password")).status_code == 302
    signed_in.post(reverse("people_open", args=[helper.pk]), {"open": "1"})
    helper.refresh_from_db()
    assert helper.is_active


def test_nobody_closes_their_own_account(signed_in, owner):
    answer = signed_in.post(reverse("people_open", args=[owner.pk]), {"open": "0"}, follow=True)
    assert "This is your own account" in answer.content.decode()
    with pytest.raises(Refused):
        set_open(owner.pk, False, by=owner)
    owner.refresh_from_db()
    assert owner.is_active


def test_a_forgotten_password_is_replaced_and_the_old_sessions_end(signed_in, helper):
    client = Client()
    client.force_login(helper, backend=BACKEND)
    new = {"new_password1": "other-right-hand-5", "new_password2": "other-right-hand-5"}
    signed_in.post(reverse("people_password", args=[helper.pk]), new)
    helper.refresh_from_db()
    assert helper.check_password("other-right-hand-5")
    assert client.get(reverse("account_change_password")).status_code == 302


def test_helpers_see_none_of_it(owner, helper):
    client = Client()
    client.force_login(helper, backend=BACKEND)
    assert client.get(reverse("people")).status_code == 403
    assert client.post(reverse("people"), GOOD | {"username": "eve"}).status_code == 403
    assert client.post(reverse("people_open", args=[owner.pk]), {"open": "0"}).status_code == 403
    assert client.get(reverse("people_password", args=[owner.pk])).status_code == 403
    assert get_user_model().objects.count() == 2


def test_only_a_post_closes_and_unknown_accounts_are_not_found(signed_in, helper):
    assert signed_in.get(reverse("people_open", args=[helper.pk])).status_code == 405
    assert signed_in.post(reverse("people_open", args=[9999])).status_code == 404
    assert signed_in.get(reverse("people_password", args=[9999])).status_code == 404


def test_the_list_takes_the_same_queries_however_long_it_is(
    signed_in, helper, django_assert_max_num_queries
):
    with django_assert_max_num_queries(8) as few:
        signed_in.get(reverse("people"))
    for number in range(20):
        add_helper(f"helper{number}", make_password("slow-left-hand-77"), [DeskRole.BENCH])
    with django_assert_max_num_queries(len(few.captured_queries)):
        signed_in.get(reverse("people"))


class _WatchingHasher(MD5PasswordHasher):
    """Notes of every hash whether it was made while a transaction held the database."""

    algorithm = "watching"
    in_transaction: list[bool] = []

    def encode(self, password: str, salt: str) -> str:
        self.in_transaction.append(connection.in_atomic_block)
        return super().encode(password, salt)


@pytest.mark.django_db(transaction=True)
def test_no_password_is_hashed_while_a_transaction_holds_the_database(settings):
    settings.PASSWORD_HASHERS = [f"{__name__}._WatchingHasher"]
    _WatchingHasher.in_transaction.clear()
    client = Client()
    twice = {"password1": "quiet-bow-arm-42", "password2": "quiet-bow-arm-42"}
    first = {"practice": "Quiet Hands", "name": "Ada Lind", "username": "ada", **twice}
    assert client.post(reverse("first_run"), first).status_code == 302
    key = {"form_key": "0b8d1f5e-8f0a-4c7e-9a63-6d2f6f1b7c11"}
    assert client.post(reverse("people"), GOOD | key).status_code == 302
    helper = User.objects.get(username="ben")
    new = {"new_password1": "slow-right-hand-78", "new_password2": "slow-right-hand-78"}
    assert client.post(reverse("people_password", args=[helper.pk]), new | key).status_code == 302
    mine = {"oldpassword": "quiet-bow-arm-42", "password1": "loud-bow-arm-43"}
    mine["password2"] = mine["password1"]
    assert client.post(reverse("account_change_password"), mine).status_code == 302
    assert len(_WatchingHasher.in_transaction) >= 4
    assert not any(_WatchingHasher.in_transaction)


def test_the_owner_changes_roles_and_each_change_is_on_file(signed_in, helper):
    address = reverse("people_roles", args=[helper.pk])
    page = signed_in.get(address).content.decode()
    assert all(role.sentence.split(";")[0] in page for role in DeskRole)
    answer = signed_in.post(address, {"roles": ["bench", "reader"]}, follow=True)
    page = answer.content.decode()
    assert "ben is now: bench, reader (was: packer)." in page
    helper = User.objects.get(pk=helper.pk)
    assert roles_held(helper) == {DeskRole.BENCH, DeskRole.READER}
    assert verify() == []
    helper.groups.clear()
    assert verify() == ["Account ben: it has no role; its events say bench, reader."]


def test_there_is_always_an_owner(signed_in, owner, helper):
    address = reverse("people_roles", args=[owner.pk])
    answer = signed_in.post(address, {"roles": ["packer"]})
    assert "Another owner has to take this role from you" in answer.content.decode()
    set_roles(helper.pk, [DeskRole.OWNER], by=owner)
    helper.refresh_from_db()
    assert helper.is_superuser
    set_roles(owner.pk, [DeskRole.READER], by=helper)
    assert not User.objects.get(pk=owner.pk).is_superuser
    with pytest.raises(Refused, match="at least one role"):
        set_roles(owner.pk, [], by=helper)


def test_another_owners_change_of_roles_is_named_in_a_word_for_each(signed_in, helper):
    address = reverse("people_roles", args=[helper.pk])
    shown = signed_in.get(address).content.decode()
    marks = html.unescape(re.search(r'name="as_shown" value="([^"]*)"', shown)[1])
    set_roles(helper.pk, [DeskRole.PACKER, DeskRole.BENCH], by=None)
    answer = signed_in.post(address, {"roles": ["packer", "reader"], "as_shown": marks})
    assert "It now says: Packer, Bench. Here stands" in answer.content.decode()
