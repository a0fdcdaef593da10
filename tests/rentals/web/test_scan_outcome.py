"""The answer to a scan says whether it was accepted."""

import pytest
from django.http import HttpResponse
from django.urls import reverse

from rentals.web.scan_outcome import SCAN_HEADER, scan_answer
from tests.factories import assigned_loan, complete_kit

pytestmark = pytest.mark.django_db


def test_an_answer_is_marked():
    assert scan_answer(HttpResponse(), accepted=True)[SCAN_HEADER] == "accepted"
    assert scan_answer(HttpResponse(), accepted=False)[SCAN_HEADER] == "refused"


def test_a_scan_at_the_bench_is_marked_as_page_and_as_part(signed_in):
    kit = assigned_loan().kit
    foreign = complete_kit(kit.kit_type).parts.first()
    address = reverse("rentals:pack_scan", args=[kit.code])
    for headers in ({}, {"HX-Request": "true"}):
        for code, outcome in ((kit.parts.first().code, "accepted"), (foreign.code, "refused")):
            answer = signed_in.post(address, {"scan": code}, headers=headers)
            assert answer[SCAN_HEADER] == outcome
