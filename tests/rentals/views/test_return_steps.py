"""Steps on the page of a kit type, and their ticks on the page of a check."""

import uuid

import pytest
from django.urls import reverse

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive
from rentals.models import ReturnStep
from tests.factories import complete_kit, packed_loan
from tests.rentals.actions.acts import all_back

pytestmark = pytest.mark.django_db


def test_steps_are_set_up_and_ticked(signed_in):
    kit = complete_kit()
    page = kit.kit_type.get_absolute_url()
    signed_in.post(reverse("rentals:return_steps_starter", args=[kit.kit_type_id]), {})
    new = {"words": "Air the box.", "kind": "clean", "part_kind": "", "form_key": uuid.uuid4()}
    signed_in.post(reverse("rentals:return_step_new", args=[kit.kit_type_id]), new)
    air = ReturnStep.objects.get(words="Air the box.")
    signed_in.post(reverse("rentals:return_step_move", args=[air.pk]), {"to": "up"})
    changed = new | {"words": "Air the box for an hour.", "form_key": uuid.uuid4()}
    signed_in.post(reverse("rentals:return_step", args=[air.pk]), changed)
    gone = reverse("rentals:return_step_remove", args=[ReturnStep.objects.last().pk])
    assert "Kits that are packed or out keep it" in signed_in.get(gone).content.decode()
    for step in ReturnStep.objects.exclude(pk=air.pk)[1:]:
        signed_in.post(reverse("rentals:return_step_remove", args=[step.pk]), {})
    shown = signed_in.get(page).content.decode()
    assert "Air the box for an hour." in shown and "Throw away used electrodes" in shown
    check = arrive(dispatch(packed_loan(kit).kit).kit)
    all_back(check)
    home = reverse("rentals:receive_kit", args=[kit.code])
    refused = signed_in.post(home, {"finish": "1", "form_key": str(uuid.uuid4())})
    first, second = check.loan.return_steps.all()
    assert f'href="#step-{second.pk}"' in refused.content.decode()
    tick = reverse("rentals:receive_step", args=[first.pk])
    part = signed_in.post(tick, {f"step{first.pk}": "on"}, headers={"HX-Request": "true"})
    assert "checked" in part.content.decode()
    form = {f"step{step.pk}-shown": "1" for step in (first, second)}
    form |= {f"step{step.pk}": "on" for step in (first, second)}
    for line in check.lines.filter(packing_line__comes_back=True):
        form |= {f"line{line.pk}-{fact}": "on" for fact in ("cleaned", "charged")}
    signed_in.post(home, form | {"finish": "1", "form_key": str(uuid.uuid4())})
    kit.refresh_from_db()
    assert kit.state == "bench"
