"""The counted rest of a return on the page of its check."""

import uuid

import pytest
from django.urls import reverse

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db


def test_a_scanned_serial_is_back_and_another_kits_label_opens_that_kit(signed_in):
    loan, following = dispatch(packed_loan().kit), dispatch(packed_loan().kit)
    scan = reverse("rentals:receive_scan", args=[loan.kit.code])
    charger = loan.kit.parts.get(kind="charger")
    signed_in.post(scan, {"scan": charger.serial})
    assert loan.return_check.lines.get(packing_line__part=charger).outcome == "back"
    turned = signed_in.post(scan, {"scan": following.kit.code})
    assert turned.url == reverse("rentals:receive_kit", args=[following.kit.code])
    assert not loan.return_check.found.exists()


def test_the_rest_is_back_with_one_press_and_a_refused_finish_keeps_it(signed_in):
    check = arrive(dispatch(packed_loan().kit).kit)
    kit = check.loan.kit
    home, rest, scan = (
        reverse(f"rentals:{name}", args=[kit.code])
        for name in ("receive_kit", "receive_rest", "receive_scan")
    )
    assert signed_in.get(rest).url == home
    charger = check.lines.get(packing_line__part_kind="charger")
    form = {"finish": "1", "cleaned": "on", "form_key": str(uuid.uuid4())}
    refused = signed_in.post(rest, form | {f"line{charger.pk}-note": "dusty"})
    page = refused.content.decode()
    assert refused.status_code == 422
    assert "Amplifier: not looked at yet." in page and 'value="dusty"' in page
    back = check.lines.filter(outcome="back").values_list("packing_line__part_kind", "cleaned")
    assert set(back) == {("band", True), ("box", False)}
    for part in kit.parts.all():
        signed_in.post(scan, {"scan": part.code})
    finishes = [signed_in.post(rest, form | {"charged": "on"}) for _ in range(2)]
    assert [answer.url for answer in finishes] == [check.loan.get_absolute_url(), home]
    assert check.loan.events.filter(verb="checked").count() == 1


def test_a_check_closed_in_part_waits_for_the_next_parcel(signed_in):
    check = arrive(dispatch(packed_loan().kit).kit)
    kit = check.loan.kit
    home = reverse("rentals:receive_kit", args=[kit.code])
    charger = check.lines.get(packing_line__part_kind="charger")
    form = {f"line{charger.pk}-outcome": "back", "part": "1", "form_key": str(uuid.uuid4())}
    assert signed_in.post(home, form).url == home
    page = signed_in.get(home).content.decode()
    assert "Still to come: Amplifier, Licence key, Lead set" in page
    assert "Go on with the check" in page and "It will not come back" not in page
    assert "part of it is back" in signed_in.get(reverse("rentals:receive")).content.decode()
    signed_in.post(reverse("rentals:receive_arrived", args=[kit.code]), {})
    charger.refresh_from_db()
    assert charger.outcome == "back" and "Close in part" in signed_in.get(home).content.decode()
