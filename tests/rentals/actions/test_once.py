"""A submitted form is carried out once, and its key is not kept for ever."""

import uuid
from datetime import timedelta

import pytest
from django.core.management import call_command
from django.db import OperationalError
from django.utils import timezone

from rentals.actions.once import KEPT_FOR, forget_old_forms, in_form_transaction, once
from rentals.errors import Refused
from rentals.models import KitType, SubmittedForm

pytestmark = pytest.mark.django_db


def forms_of_ages(*ages: timedelta) -> None:
    for age in ages:
        form = SubmittedForm.objects.create(key=uuid.uuid4(), act="tick")
        SubmittedForm.objects.filter(pk=form.pk).update(at=timezone.now() - age)


def test_the_second_copy_gets_the_first_ones_result():
    key, results = uuid.uuid4(), iter(["/first/", "/second/"])
    assert [once(key, "act", lambda: next(results)) for _ in range(2)] == ["/first/", "/first/"]


@pytest.mark.parametrize("expected", ["", "/kept/", "/other/"])
def test_the_result_is_kept_whatever_was_expected(expected):
    key = uuid.uuid4()
    assert once(key, "act", lambda: "/kept/", expected=expected) == "/kept/"
    assert SubmittedForm.objects.get(pk=key).result == "/kept/"


def test_a_refused_form_keeps_neither_its_key_nor_what_it_did():
    @in_form_transaction
    def half_done() -> str:
        KitType.objects.create(name="half")
        raise Refused("No.")

    for key in (uuid.uuid4(), None):
        with pytest.raises(Refused):
            once(key, "act", half_done)
        assert not SubmittedForm.objects.exists() and not KitType.objects.exists()


def test_keys_of_long_ago_are_forgotten():
    forms_of_ages(timedelta(0), KEPT_FOR - timedelta(hours=1), KEPT_FOR + timedelta(hours=1))
    assert forget_old_forms() == 1
    assert SubmittedForm.objects.count() == 2


def test_the_clock_forgets_them():
    forms_of_ages(KEPT_FOR + timedelta(days=1))
    call_command("tick", verbosity=0)
    assert not SubmittedForm.objects.exists()


def test_a_lock_that_stays_is_a_sentence_and_leaves_the_form_free(monkeypatch):
    monkeypatch.setattr("rentals.actions.once.LONGEST_WAIT_S", 0)

    def locked() -> str:
        raise OperationalError("database is locked")

    key = uuid.uuid4()
    with pytest.raises(Refused, match="nothing was changed"):
        once(key, "act", locked)
    assert once(key, "act", lambda: "/done/") == "/done/"


def test_a_fault_of_the_database_that_is_no_lock_stays_one():
    def broken() -> str:
        raise OperationalError("no such column: shelf")

    with pytest.raises(OperationalError, match="no such column"):
        once(uuid.uuid4(), "act", broken)
