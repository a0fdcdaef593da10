"""The arrival check on the student's page."""

import pytest
from django.test import Client
from django.urls import reverse

from rentals.actions.arrival_check import answer_arrival
from rentals.models import ArrivalCheck
from rentals.selectors.student_links import token_of_link
from tests.rentals.arrivals import loan_away

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clean_cache")]


@pytest.fixture
def loan():
    return loan_away()


def address(loan):
    return reverse("rentals:my_kit_arrival", args=[token_of_link(loan.student_links.get())])


def test_line_by_line_and_what_was_typed_is_never_lost(loan):
    charger = loan.packing_lines.get(part_kind="charger")
    typed = {f"line{charger.pk}-outcome": "missing", f"line{charger.pk}-note": "Bag was empty"}
    refused = Client().post(address(loan), typed)
    assert refused.status_code == 422 and not ArrivalCheck.objects.exists()
    assert "Bag was empty" in refused.text and "Say whether it is here" in refused.text
    taken = Client().post(address(loan), {**typed, "all_here": "1", "note": "The box was wet"})
    assert taken.status_code == 302
    check = ArrivalCheck.objects.get()
    line = check.lines.get(missing=1)
    assert (line.packing_line, line.note, check.note) == (
        charger,
        "Bag was empty",
        "The box was wet",
    )


def test_some_pieces_of_a_line_may_lack(loan):
    line = loan.packing_lines.filter(quantity__gt=1).first()
    typed = {"all_here": "1", f"line{line.pk}-outcome": "missing"}
    too_many = {**typed, f"line{line.pk}-pieces": str(line.quantity + 1)}
    assert Client().post(address(loan), too_many).status_code == 422
    Client().post(address(loan), {**typed, f"line{line.pk}-pieces": "1"})
    assert ArrivalCheck.objects.get().lines.get(missing__gt=0).missing == 1


def test_it_is_sent_once_more_and_then_only_read(loan):
    key = {"form_key": "6d3f5c4e-0f7e-4f0c-9c6b-0d8f4a6f1a11"}
    everything = {"all_here": "1"}
    for _ in range(2):  # the same form sent twice is one check
        Client().post(address(loan), everything | key)
    assert ArrivalCheck.objects.get().times_sent == 1
    charger = loan.packing_lines.get(part_kind="charger")
    Client().post(address(loan), {**everything, f"line{charger.pk}-outcome": "damaged"})
    answer_arrival(loan, "Another charger is on its way.")
    shown = Client().get(address(loan))
    assert "Another charger is on its way." in shown.text and "<form" not in shown.text
    assert Client().post(address(loan), everything).status_code == 422
    assert ArrivalCheck.objects.get().times_sent == 2
