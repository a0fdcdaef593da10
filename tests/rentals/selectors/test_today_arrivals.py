"""Arrivals that lacked something, among today's work."""

import pytest
from django.db.models.signals import post_init
from django.utils import timezone

from rentals.models import PackingLine
from rentals.planning.arrival import Arrived
from rentals.selectors.today import work_today
from rentals.selectors.today_arrivals import arrivals_lacking
from tests.rentals.arrivals import loan_with_arrival

pytestmark = pytest.mark.django_db


def test_one_line_a_parcel_with_what_lacked(django_assert_num_queries):
    with django_assert_num_queries(1):
        assert arrivals_lacking().total == 0
    loans = [loan_with_arrival(charger=Arrived(missing=1)) for _ in range(2)]
    built = []
    note = lambda sender, **_: built.append(sender)  # noqa: E731
    post_init.connect(note, sender=PackingLine)
    try:
        with django_assert_num_queries(2):
            group = arrivals_lacking()
    finally:
        post_init.disconnect(note, sender=PackingLine)
    assert len(built) == len(loans), "only lines that lacked are read"
    assert [line.code for line in group.lines] == [loan.kit.code for loan in loans]
    assert group.lines[0].url == f"/loans/{loans[0].pk}/arrival-check/"
    assert group.title in [shown.title for shown in work_today(timezone.localdate())]
