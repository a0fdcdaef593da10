"""Loans of before get the ledger that their rows tell: deposit, what was charged or waived, and what
was paid in the end. A deposit counted as paid once the kit was posted.
"""

from decimal import Decimal

from django.db import migrations
from django.utils import timezone

from rentals.planning.money import round_money

SIDES = {
    "deposit_asked": ("student", "deposits"),
    "deposit_received": ("bank", "student"),
    "deposit_released": ("deposits", "student"),
    "charge": ("student", "charges"),
    "waived": ("written_off", "charges"),
    "payment": ("bank", "student"),
    "refund": ("student", "bank"),
}
CHUNK = 500


def take_over(apps, schema_editor):
    """One loan after the other."""
    Loan = apps.get_model("rentals", "Loan")
    Entry = apps.get_model("rentals", "Entry")
    Practice = apps.get_model("rentals", "Practice")
    practice = Practice.objects.filter(pk=1).first()
    currency = practice.currency if practice else "EUR"
    loans = Loan.objects.exclude(stage="cancelled").prefetch_related("shortfalls").order_by("pk")
    now = timezone.now()
    entries = []
    for loan in loans.iterator(chunk_size=CHUNK):
        for kind, amount, day, shortfall in _of(loan, currency):
            debit, credit = SIDES[kind]
            facts = {"currency": currency, "at": now, "taken_over": True, "day": day}
            entries.append(
                Entry(
                    loan=loan,
                    kind=kind,
                    debit=debit,
                    credit=credit,
                    amount=amount,
                    shortfall=shortfall,
                    **facts,
                )
            )
        if len(entries) >= CHUNK:
            Entry.objects.bulk_create(entries)
            entries = []
    Entry.objects.bulk_create(entries)


def _of(loan, currency):
    """The entries of a loan: kind, amount, day and shortfall."""
    deposit = round_money(loan.deposit, currency)
    paid = deposit if loan.dispatched_at else Decimal(0)
    if deposit:
        yield "deposit_asked", deposit, _day(loan.assigned_at), None
    if paid:
        yield "deposit_received", paid, _day(loan.dispatched_at), None
    left = paid
    for short in loan.shortfalls.all():
        amount = round_money(short.amount, currency)
        if amount and short.state in ("charged", "waived"):
            kind = "charge" if short.state == "charged" else "waived"
            yield kind, amount, _day(short.closed_at), short
            left -= amount if kind == "charge" else 0
    if loan.stage != "settled":
        return
    if deposit:
        yield "deposit_released", deposit, _day(loan.closed_at or loan.assigned_at), None
    if loan.balance_paid_on and left:
        yield "refund" if left > 0 else "payment", abs(left), loan.balance_paid_on, None


def _day(moment):
    return timezone.localtime(moment).date()


class Migration(migrations.Migration):
    dependencies = [("rentals", "0029_ledger")]
    operations = [migrations.RunPython(take_over, migrations.RunPython.noop)]
