"""The page of the table: one box, the parcel in hand in its address."""

import pytest
from django.urls import reverse

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive
from rentals.codes import grouped
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db


def test_a_label_takes_its_parcel_in_hand_and_parts_go_where_they_belong(signed_in):
    check, away = arrive(dispatch(packed_loan().kit).kit), dispatch(packed_loan().kit)
    home, scan = reverse("rentals:receive_table"), reverse("rentals:receive_table_scan")
    page = signed_in.get(home).content.decode()
    assert "0 of 7 lines looked at" in page
    in_hand = signed_in.post(scan, {"scan": away.kit.code})
    assert in_hand.url == reverse("rentals:receive_table", args=[away.kit.code])
    assert in_hand["Kitdesk-Scan"] == "accepted"
    page = signed_in.get(in_hand.url).content.decode()
    assert "Put it down" in page and away.enrolment.student.name in page
    scan_in_hand = reverse("rentals:receive_table_scan", args=[away.kit.code])
    signed_in.post(scan_in_hand, {"scan": away.kit.parts.get(kind="charger").code})
    mixed = check.loan.kit.parts.get(kind="lead_set")
    told = signed_in.post(scan_in_hand, {"scan": mixed.code}, follow=True)
    assert f"Kit {grouped(check.loan.kit.code)}" in told.content.decode()
    line = check.lines.get(packing_line__part=mixed)
    assert line.note == f"Came in the parcel of kit {grouped(away.kit.code)}."
    refused = signed_in.post(scan_in_hand, {"scan": "?!"})
    assert refused["Kitdesk-Scan"] == "refused" and refused.url == in_hand.url
