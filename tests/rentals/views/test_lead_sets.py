"""The plan's page of lead sets."""

import pytest
from django.urls import reverse

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import write_off
from tests.factories import EnrolmentFactory, packed_loan

pytestmark = pytest.mark.django_db


def test_without_a_lead_set_the_page_says_so(signed_in):
    page = signed_in.get(reverse("rentals:plan_leads")).content.decode()
    assert "No lead set is on file" in page


def test_the_page_says_how_long_sets_last_and_what_to_buy(signed_in):
    loan = packed_loan()
    leads = loan.kit.parts.get(kind="lead_set")
    EnrolmentFactory(run=loan.enrolment.run)
    write_off(dispatch(loan.kit).kit, reason="not heard of")
    page = signed_in.get(reverse("rentals:plan_leads")).content.decode()
    assert "Buy " in page
    assert "That is too few to say how long one lasts" in page
    assert "after 1 loans 0 %" in page
    assert "At €45.00 a set, a loan costs €6.14 of it" in page
    csv = signed_in.get(reverse("rentals:plan_leads_export", args=["csv"]))
    rows = csv.getvalue().decode("utf-8-sig").splitlines()
    assert rows[1].startswith(f"{leads.code},{leads.serial},")
    assert rows[1].endswith(",lost")
    assert signed_in.get(reverse("rentals:plan_leads_export", args=["ods"])).status_code == 404
