"""Setup of the help by symptom."""

import pytest
from django.urls import reverse

from rentals.models import LeftOutStep, OwnStep

pytestmark = pytest.mark.django_db


def test_a_step_is_left_out_put_in_again_and_one_of_the_owners_added(signed_in):
    home = reverse("rentals:guide_steps")
    address = reverse("rentals:guide_step", args=["hum", "charger_off"])
    assert "left out" in signed_in.post(address, {"act": "leave_out"}, follow=True).text
    signed_in.post(address, {"act": "put_in"})
    assert not LeftOutStep.objects.exists()
    stays = reverse("rentals:guide_step", args=["hum", "look_leads"])
    assert "cannot be left out" in signed_in.post(stays, follow=True).text
    new = reverse("rentals:own_step_new", args=["hum"])
    signed_in.post(new, {"title": "Call", "to_try": "Call us."})
    step = OwnStep.objects.get()
    assert step.symptom == "hum" and "Call us." in signed_in.get(home).text
    signed_in.post(
        reverse("rentals:own_step", args=[step.pk]), {"title": "Ring", "to_try": "Ring."}
    )
    assert "Ring." in signed_in.get(home).text
    signed_in.post(reverse("rentals:own_step_remove", args=[step.pk]))
    assert not OwnStep.objects.exists()
    assert signed_in.get(reverse("rentals:own_step_new", args=["smoke"])).status_code == 404
