"""The ledger of a loan: what was asked, received, charged, paid and taken back, in double entry.

One row is one whole entry: an amount that goes from the account credited to the account debited.
Its two postings are the amount and its negative, so no row can be out of balance.
"""

from __future__ import annotations

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from rentals.accounts import ACCOUNT_WORDS, KIND_WORDS, SIDES, Account, EntryKind
from rentals.noted import NotedManager

from .loans import Loan
from .shortfalls import Shortfall

_ACCOUNTS = [(account.value, words) for account, words in ACCOUNT_WORDS.items()]
_KINDS = [(kind.value, words) for kind, words in KIND_WORDS.items()]
#: Kinds that belong to one shortfall.
OF_A_SHORTFALL = (EntryKind.CHARGE, EntryKind.WAIVED)


class PayWay(models.TextChoices):
    """By what way money came or went."""

    TRANSFER = "transfer", "bank transfer"
    CASH = "cash", "cash"
    CARD = "card", "card"
    OTHER = "other", "another way"


def _sides_fit() -> Q:
    """Each kind moves money between its own two accounts; a reversal between any two."""
    fits = Q(kind=EntryKind.REVERSAL.value)
    for kind, (debit, credit) in SIDES.items():
        fits |= Q(kind=kind.value, debit=debit.value, credit=credit.value)
    return fits


class Entry(models.Model):
    """One entry: `amount`, above zero, in `currency`, debited to one account and credited to
    another. Never changed and never deleted (`rentals/ledger_guard.py`): a mistake is reversed.

    `taken_over` marks what was on file of a loan before there was a ledger.
    """

    Way = PayWay

    loan = models.ForeignKey(Loan, on_delete=models.PROTECT, related_name="entries")
    kind = models.CharField(max_length=20, choices=_KINDS)
    debit = models.CharField(max_length=12, choices=_ACCOUNTS)
    credit = models.CharField(max_length=12, choices=_ACCOUNTS)
    amount = models.DecimalField(max_digits=12, decimal_places=3)
    currency = models.CharField(max_length=3)
    day = models.DateField(help_text="The day on which it happened.")
    at = models.DateTimeField(help_text="When it was written down.")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    way = models.CharField(max_length=8, choices=PayWay.choices, blank=True)
    memo = models.CharField(max_length=300, blank=True)
    shortfall = models.ForeignKey(
        Shortfall, on_delete=models.PROTECT, null=True, blank=True, related_name="entries"
    )
    reverses = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="reversed_by"
    )
    taken_over = models.BooleanField(default=False)

    objects = NotedManager()

    class Meta:
        ordering = ["day", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(amount__gt=0), name="entry_amount_above_zero"),
            models.CheckConstraint(
                condition=~Q(debit=F("credit")), name="entry_between_two_accounts"
            ),
            models.CheckConstraint(condition=_sides_fit(), name="entry_sides_fit_its_kind"),
            models.CheckConstraint(
                condition=Q(kind=EntryKind.REVERSAL.value, reverses__isnull=False)
                | (~Q(kind=EntryKind.REVERSAL.value) & Q(reverses__isnull=True)),
                name="entry_reversal_names_its_entry",
            ),
            models.CheckConstraint(
                condition=Q(kind__in=[*(kind.value for kind in OF_A_SHORTFALL), "reversal"])
                | Q(shortfall__isnull=True),
                name="entry_shortfall_only_where_charged_or_waived",
            ),
            models.CheckConstraint(condition=~Q(currency=""), name="entry_names_its_currency"),
        ]
        indexes = [models.Index(fields=["kind", "day"])]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.amount} {self.currency}"

    @property
    def postings(self) -> tuple[tuple[Account, Decimal], tuple[Account, Decimal]]:
        """The two halves of the entry, signed: they add up to nothing."""
        return (Account(self.debit), self.amount), (Account(self.credit), -self.amount)
