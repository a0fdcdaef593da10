"""Another kit for a student whose kit is faulty, from the loan's page."""

import io
import uuid

import pytest
from django.urls import reverse
from pypdf import PdfReader

from rentals.actions.dispatch import dispatch
from tests.factories import complete_kit, packed_loan, spare

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


def test_a_part_is_replaced_from_the_loans_page_to_its_slip(signed_in):
    loan, new = dispatch(packed_loan().kit), spare("charger")
    line = loan.packing_lines.get(part_kind="charger")
    ask = reverse("rentals:loan_another_part", args=[loan.pk])
    assert ask in signed_in.get(loan.get_absolute_url()).content.decode()
    form = {"line": line.pk, "why": "Hot", "part": "", "quantity": "", "back_by": ""}
    refused = signed_in.post(ask, form | {"form_key": str(uuid.uuid4())})
    assert "Scan or type the spare" in refused.content.decode()
    signed_in.post(ask, form | {"part": new.serial, "form_key": str(uuid.uuid4())})
    row = loan.replacements.get()
    cancel = reverse("rentals:replacement_cancel", args=[row.pk])
    assert "The spare is free for others" in signed_in.get(cancel).content.decode()
    signed_in.post(cancel, {"form_key": str(uuid.uuid4())})
    again = {"part": new.code, "back_by": loan.due_on, "form_key": str(uuid.uuid4())}
    signed_in.post(ask, form | again)
    row = loan.replacements.get(cancelled_at=None)
    slip = reverse("rentals:replacement_slip", args=[row.pk])
    text = PdfReader(io.BytesIO(signed_in.get(slip).content)).pages[0].extract_text()
    assert new.serial in text and "Amplifier" not in text
    send = reverse("rentals:replacement_send", args=[row.pk])
    page = signed_in.get(send).content.decode()
    assert f"serial {new.serial}" in page and "must come back with it" in page
    signed_in.post(send, {"tracking_number": "AB 12", "form_key": str(uuid.uuid4())})
    shown = signed_in.get(loan.get_absolute_url()).content.decode()
    assert "AB12" in shown and "The faulty one is here" in shown
    here = reverse("rentals:replacement_faulty_back", args=[row.pk])
    signed_in.post(here, {"form_key": str(uuid.uuid4())})
    row.refresh_from_db()
    assert row.faulty_back_at is not None
    lacks = signed_in.get(slip + "?contents=1", follow=True)
    assert lacks.status_code == 200
