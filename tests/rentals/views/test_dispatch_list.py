"""The page that dispatches a pile, as plain forms and with a script."""

import uuid

import pytest
from django.urls import reverse

from rentals.actions.dispatch import dispatch
from tests.factories import packed_loan
from tests.rentals.views.packing import text_of

pytestmark = pytest.mark.django_db
HOME = "/pack/dispatch/"


def scanned(client, text, **headers):
    return client.post(reverse("rentals:dispatch_scan"), {"scan": text}, follow=True, **headers)


def test_a_pile_leaves_scan_by_scan_and_the_last_one_is_taken_back(signed_in):
    loan = packed_loan()
    assert HOME in text_of(signed_in.get(reverse("rentals:pack")))
    page = text_of(signed_in.get(HOME))
    assert "Scan a packed kit." in page and "1 parcel to dispatch" in page
    refused = scanned(signed_in, "AB 12 34")
    assert refused.status_code == 422
    assert "Scan the kit first" in text_of(refused) and 'value="AB 12 34"' in text_of(refused)
    assert "scan its tracking number" in text_of(scanned(signed_in, loan.kit.code))
    assert "is the label of no kit" in text_of(scanned(signed_in, loan.kit.parts.first().code))
    page = text_of(scanned(signed_in, "AB 12 34"))
    assert "1 parcel on the way" in page and "No packed parcel waits." in page
    form = {"form_key": str(uuid.uuid4())}
    undone = signed_in.post(reverse("rentals:dispatch_undo"), form, follow=True)
    page = text_of(undone)
    assert "still here; AB1234 is taken back" in page and "scan its tracking number" in page
    loan.refresh_from_db()
    assert loan.stage == "packed"
    nothing = signed_in.post(reverse("rentals:dispatch_undo"), form, follow=True)
    assert "nothing to undo" in text_of(nothing)


def test_with_a_script_only_what_changed_comes_back(signed_in):
    loan = packed_loan()
    answer = text_of(scanned(signed_in, loan.kit.code, headers={"HX-Request": "true"}))
    assert "<html" not in answer and answer.count("hx-swap-oob") == 3
    dispatch(loan.kit)
    assert "Scan a packed kit." in text_of(signed_in.get(HOME))
    assert signed_in.get(reverse("rentals:dispatch_scan")).url == HOME


def test_the_carrier_stays_in_its_box_and_goes_with_every_parcel(signed_in):
    first, second = packed_loan(), packed_loan()
    scan = reverse("rentals:dispatch_scan")
    for text in (first.kit.code, "AB1234", second.kit.code, "AB1235"):
        signed_in.post(scan, {"scan": text, "carrier": "Bicycle courier"})
    page = signed_in.get(reverse("rentals:dispatch_list")).content.decode()
    assert 'value="Bicycle courier"' in page
    for loan in (first, second):
        loan.refresh_from_db()
        assert (loan.stage, loan.carrier) == ("away", "Bicycle courier")
