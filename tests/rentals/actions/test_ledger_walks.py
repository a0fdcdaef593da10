"""Whatever is done in whatever order, the ledger balances and says what a plain sum says."""

from decimal import Decimal
from random import Random

import pytest
from django.utils import timezone

from rentals.accounts import Account
from rentals.actions.balance import Paid, give_up_balance, note_balance_paid
from rentals.actions.dispatch import dispatch
from rentals.actions.receive import write_off
from rentals.actions.settle import charge, recover, settle, waive
from rentals.errors import Refused
from rentals.models import Loan, Shortfall
from rentals.planning.ledger import balance
from rentals.selectors.ledger import loan_lines, loan_sums
from rentals.verify import verify
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db
STEPS, STEPS_BY_DAY = 25, 9
BY_NIGHT = [pytest.param(seed, marks=pytest.mark.night) for seed in range(1, 40)]


class PlainSums:
    """The same money, added up without any ledger."""

    def __init__(self) -> None:
        self.charged: dict[int, Decimal] = {}
        self.moves: list[Decimal] = []

    @property
    def left(self) -> Decimal:
        """Above zero what we owe the student."""
        return 80 - sum(self.charged.values(), Decimal(0)) + sum(self.moves, Decimal(0))


def _decide(chance: Random, short: Shortfall, plain: PlainSums) -> None:
    act = chance.choice(["charge", "waive", "recover"])
    if act == "charge":
        amount = Decimal(chance.randrange(0, 6000)).scaleb(-2)
        charge(short, amount)
        plain.charged[short.pk] = amount
    elif act == "waive":
        waive(short, reason="a gift")
    else:
        recover(short)
        plain.charged.pop(short.pk, None)


def _move(chance: Random, loan: Loan, plain: PlainSums) -> None:
    today, before = timezone.localdate(), plain.left
    act = chance.choice(["pay", "pay a part", "not paid", "give up"])
    if act == "give up":
        give_up_balance(loan, reason="too little")
        plain.moves.append(-before)
    elif act == "not paid":
        moved = bool(loan.entries.filter(kind__in=["payment", "refund"], reversed_by=None))
        note_balance_paid(loan, None)
        last = loan.entries.filter(kind="reversal").order_by("-pk").first()
        if moved and last is not None:
            plain.moves.append(-last.amount if last.debit == "student" else last.amount)
    elif before:
        part = abs(before) if act == "pay" else (abs(before) / 2).quantize(Decimal("0.01"))
        note_balance_paid(loan, today, Paid(part))
        plain.moves.append(-part if before > 0 else part)


@pytest.mark.parametrize("seed", [0, *BY_NIGHT])
def test_a_random_walk_keeps_the_ledger_balanced_and_true(seed):
    chance, plain = Random(seed), PlainSums()
    loan = write_off(dispatch(packed_loan().kit).kit, reason="It was stolen.")
    shortfalls = list(loan.shortfalls.all())
    steps = STEPS if seed else STEPS_BY_DAY
    for step in range(steps):
        if step == steps // 3:
            for short in Shortfall.objects.filter(loan=loan, state="open"):
                waive(short, reason="a gift")
            settle(loan)
        try:
            if chance.random() < 0.6:
                _decide(chance, Shortfall.objects.get(pk=chance.choice(shortfalls).pk), plain)
            else:
                _move(chance, loan, plain)
        except Refused:
            pass
        sums, lines = loan_sums(loan), loan_lines(loan)
        assert sums.refund - sums.to_pay == plain.left
        assert sum(balance(lines, account) for account in Account) == 0
    assert verify() == []
