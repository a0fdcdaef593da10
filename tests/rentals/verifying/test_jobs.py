"""A check in parts: as many queries for 200 loans as for 20, nearly."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from rentals.models import Loan
from rentals.verify import verify
from rentals.verifying.jobs import all_jobs
from tests.scale.fleet import grow

pytestmark = pytest.mark.django_db


def _queries() -> tuple[int, int]:
    with CaptureQueriesContext(connection) as queries:
        verify()
    return Loan.objects.count(), len(queries)


def test_a_loan_more_costs_less_than_a_tenth_of_a_query():
    grow(40)
    Loan.objects.update(packing_list_hash="0" * 64)
    few, queries_of_few = _queries()
    grow(400)
    Loan.objects.update(packing_list_hash="0" * 64)
    many, queries_of_many = _queries()
    assert many - few >= 150
    assert (queries_of_many - queries_of_few) / (many - few) < 0.1


def test_what_cannot_be_divided_is_begun_first():
    kinds = [job.kind for job in all_jobs()]
    assert {*kinds[: kinds.index("kits")]} == {"files", "people", "chains"}
    assert not {"files", "people", "chains"} & {*kinds[kinds.index("kits") :]}
