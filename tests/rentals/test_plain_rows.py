"""Rows as the driver has them become what Django reads, where a column asks for it."""

from __future__ import annotations

import random
from decimal import Decimal

import pytest

from rentals.models import PackingLine
from rentals.plain_rows import plain_rows, reader
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db


def test_amounts_are_read_as_django_reads_them():
    line, chance = packed_loan().packing_lines.first(), random.Random(3)
    read = reader(PackingLine._meta.get_field("replacement_price"))
    rows = PackingLine.objects.filter(pk=line.pk).values_list("replacement_price")
    for _ in range(60):
        amount = Decimal(chance.randrange(10 ** chance.randrange(1, 10))).scaleb(-3)
        PackingLine.objects.filter(pk=line.pk).update(replacement_price=amount)
        [(plain,)] = plain_rows(rows)
        assert (str(read(plain)), read(plain)) == (str(rows.get()[0]), amount)


def test_all_rows_come_in_their_order_however_many_there_are(django_assert_num_queries):
    loan = packed_loan()
    lines = [PackingLine(loan=loan, order=order, name="Swab") for order in range(100, 4200)]
    PackingLine.objects.bulk_create(lines)
    rows = PackingLine.objects.order_by("-order", "pk").values_list("pk", "order", "name")
    assert list(plain_rows(rows)) == list(rows)
    with django_assert_num_queries(1):
        assert list(plain_rows(rows.filter(order=5000))) == []
    with django_assert_num_queries(0):
        assert list(plain_rows(rows.filter(loan__in=[]))) == []
