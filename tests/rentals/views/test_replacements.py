"""Another kit for a student whose kit is faulty, from the loan's page."""

import uuid

import pytest
from django.urls import reverse

from rentals.actions.dispatch import dispatch
from tests.factories import complete_kit, packed_loan

pytestmark = pytest.mark.django_db


def test_another_kit_is_sent_and_both_loans_show_one_record(signed_in):
    loan = dispatch(packed_loan().kit)
    other = complete_kit(loan.kit.kit_type)
    address = reverse("rentals:loan_another_kit", args=[loan.pk])
    assert address in signed_in.get(loan.get_absolute_url()).content.decode()
    page = signed_in.get(address).content.decode()
    assert other.code in page and "The deposit goes over" in page
    form = {"kit": other.code, "fault": "", "due_on": loan.due_on}
    refused = signed_in.post(address, form | {"form_key": str(uuid.uuid4())})
    assert refused.status_code == 422
    answer = signed_in.post(address, form | {"fault": "No trace.", "form_key": str(uuid.uuid4())})
    after = loan.successors.get()
    assert answer.url == after.get_absolute_url()
    for each in (loan, after):
        shown = signed_in.get(each.get_absolute_url()).content.decode()
        assert "One record" in shown and "faulty: No trace;" in shown
    today = signed_in.get(reverse("rentals:today")).content.decode()
    assert "a replacement; " in today
    assert address not in signed_in.get(loan.get_absolute_url()).content.decode()
