"""The day of arrival on screen: given with the button, mended later."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.models import Loan
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db


def test_a_parcel_may_have_come_on_another_day(signed_in):
    loan = dispatch(packed_loan().kit, at=timezone.now() - timedelta(days=7))
    Loan.objects.filter(pk=loan.pk).update(
        post_by=timezone.localdate() - timedelta(days=7),
        due_on=timezone.localdate() - timedelta(days=5),
    )
    arrived = reverse("rentals:receive_arrived", args=[loan.kit.code])
    home, today = reverse("rentals:receive_kit", args=[loan.kit.code]), timezone.localdate()
    assert f'value="{today:%Y-%m-%d}"' in signed_in.get(home).content.decode()
    for days, words in ((1, "is yet to come"), (-9, "was dispatched on")):
        wrong = signed_in.post(arrived, {"on": f"{today + timedelta(days=days):%Y-%m-%d}"})
        assert wrong.status_code == 422 and words in wrong.content.decode()
    assert signed_in.post(arrived, {"on": "soon"}).status_code == 422
    friday = today - timedelta(days=3)
    assert signed_in.post(arrived, {"on": f"{friday:%Y-%m-%d}"}).url == home
    page = signed_in.get(home).content.decode()
    correct = reverse("rentals:loan_arrival", args=[loan.pk])
    assert "2 days late" in page and correct in page
    signed_in.post(correct, {"on": f"{today:%Y-%m-%d}"})
    assert "5 days late" in signed_in.get(loan.get_absolute_url()).content.decode()
