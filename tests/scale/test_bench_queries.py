"""What the packing bench asks of the database for one scan and for closing one parcel, however
long the list.
"""

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from rentals.actions.pack import tick
from rentals.models import Kit, Loan
from tests.factories import assigned_loan, complete_kit

pytestmark = pytest.mark.django_db

ONE_SCAN = 17
ONE_PARCEL = 44
"""The log's lines of one act take five: the rows as they stand, its head, and the lines."""


@pytest.fixture(params=[0, 40], ids=["usual list", "40 lines more"])
def loan(request) -> Loan:
    kit = complete_kit()
    line = kit.kit_type.lines.get(name="Wrist band")
    for order in range(request.param):
        line.pk, line.order, line.name = None, 10 + order, f"Band {order}"
        line.save()
    return assigned_loan(kit)


def post(client: Client, kit: Kit, act: str, **data: str):
    headers = {"HX-Request": "true"} if act == "pack_scan" else {}
    form = {"form_key": str(uuid.uuid4()), **data}
    return client.post(reverse(f"rentals:{act}", args=[kit.code]), form, headers=headers)


def test_one_scanned_part(signed_in, loan, django_assert_max_num_queries):
    part = loan.kit.parts.get(kind="lead_set")
    with django_assert_max_num_queries(ONE_SCAN):
        answer = post(signed_in, loan.kit, "pack_scan", scan=part.code)
    assert f"Lead set {part.code} ticked." in answer.content.decode()
    assert loan.packing_lines.get(part=part).ticked_at


def test_closing_a_parcel(signed_in, loan, django_assert_max_num_queries):
    for line in loan.packing_lines.all():
        tick(line)
    with django_assert_max_num_queries(ONE_PARCEL):
        post(signed_in, loan.kit, "pack_close")
    loan.refresh_from_db()
    assert loan.stage == "packed" and loan.messages.exists()
