"""Frozen lists are put together from plain columns as they were from objects."""

from __future__ import annotations

import random
from datetime import date
from decimal import Decimal

import pytest
from django.db import transaction

from rentals.actions.packing_list import LINE_FACTS, first_lines, list_hash
from rentals.models import Loan, LoanStep, PackingLine
from rentals.verifying.kits import list_faults
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db
_LETTERS = 'aé“"\\/µ\t\x01\x7f\u2028🎻|[],0'


def test_lists_of_any_lines_are_as_they_were_frozen_until_one_changes():
    loan, chance = packed_loan(), random.Random(5)
    lines = list(loan.packing_lines.all())
    LoanStep.objects.create(loan=loan, order=90, kind="do", words='Räum “auf”, \\ "bitte" 🎻')
    for _ in range(12):
        for line in lines:
            _write(line, chance)
        # One line after the other: an order is there once in a list.
        _freeze(loan)
        assert list(list_faults([loan.kit_id])) == []
    changes: dict[str, object] = {
        "order": 99,
        "quantity": 77,
        "mass_g": 78,
        "replacement_price": Decimal("0.007"),
        "expires_on": date(2031, 1, 2),
    }
    for column in LINE_FACTS:
        if column in ("comes_back", "single_use"):
            continue
        with transaction.atomic():
            PackingLine.objects.filter(pk=lines[0].pk).update(**{column: changes.get(column, "x")})
            _is_told(loan)
            transaction.set_rollback(True)
    PackingLine.objects.filter(pk=lines[0].pk).update(comes_back=False, single_use=True)
    _freeze(loan)
    PackingLine.objects.filter(pk=lines[0].pk).update(single_use=False)
    _is_told(loan)
    _freeze(loan)
    LoanStep.objects.filter(loan=loan, order=90).update(words="Räum auf")
    _is_told(loan)


def _write(line: PackingLine, chance: random.Random) -> None:
    """Facts of any kind; the same ones come again, as kits go out again with their parts."""
    line.name = chance.choice(["Charger", "".join(chance.choices(_LETTERS, k=6))])
    line.serial = chance.choice(["", "1", "1.0", "True"])
    line.quantity, line.mass_g = chance.choice([1, 2]), chance.choice([0, 1, 250])
    price = chance.choice(["0", "1", "10", "100.000", "12.5", "0.001", "999999.999"])
    line.replacement_price = Decimal(price)
    line.expires_on = chance.choice([None, date(1999, 12, 31), date(2027, 2, 28)])
    line.save()


def _freeze(loan: Loan) -> None:
    loan = Loan.objects.get(pk=loan.pk)
    frozen = list_hash(first_lines(loan), loan.return_steps.order_by("order", "pk"))
    Loan.objects.filter(pk=loan.pk).update(packing_list_hash=frozen)


def _is_told(loan: Loan) -> None:
    what = f"the packing list of loan {loan.pk} was changed after it was frozen."
    assert list(list_faults([loan.kit_id])) == [f"{loan.kit.code}: {what}"]
