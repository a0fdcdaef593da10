"""The accounts of a loan and the kinds of entries that move money between them: each entry takes
one amount from one account to another, so what is debited is always what is credited.
"""

from __future__ import annotations

from enum import StrEnum


class Account(StrEnum):
    """Where money, or a claim to it, stands.

    A balance is debit less credit: `STUDENT` above zero is what the student owes, below zero what
    we owe the student; `DEPOSITS` is below zero by what we hold.
    """

    STUDENT = "student"
    DEPOSITS = "deposits"
    BANK = "bank"
    CARRIER = "carrier"
    CHARGES = "charges"
    COMPENSATION = "compensation"
    WRITTEN_OFF = "written_off"
    CARRIED = "carried"


class EntryKind(StrEnum):
    """What happened."""

    DEPOSIT_ASKED = "deposit_asked"
    DEPOSIT_RECEIVED = "deposit_received"
    DEPOSIT_RELEASED = "deposit_released"
    CARRIED_OUT = "carried_out"
    CARRIED_IN = "carried_in"
    CHARGE = "charge"
    WAIVED = "waived"
    PAYMENT = "payment"
    REFUND = "refund"
    GIVEN_UP = "given_up"
    COMPENSATION_CLAIMED = "claimed"
    COMPENSATION_RECEIVED = "compensated"
    REVERSAL = "reversal"


#: The account that a kind debits and the one that it credits. A reversal swaps those of the entry
#: that it takes back.
SIDES: dict[EntryKind, tuple[Account, Account]] = {
    EntryKind.DEPOSIT_ASKED: (Account.STUDENT, Account.DEPOSITS),
    EntryKind.DEPOSIT_RECEIVED: (Account.BANK, Account.STUDENT),
    EntryKind.DEPOSIT_RELEASED: (Account.DEPOSITS, Account.STUDENT),
    EntryKind.CARRIED_OUT: (Account.STUDENT, Account.CARRIED),
    EntryKind.CARRIED_IN: (Account.CARRIED, Account.STUDENT),
    EntryKind.CHARGE: (Account.STUDENT, Account.CHARGES),
    EntryKind.WAIVED: (Account.WRITTEN_OFF, Account.CHARGES),
    EntryKind.PAYMENT: (Account.BANK, Account.STUDENT),
    EntryKind.REFUND: (Account.STUDENT, Account.BANK),
    EntryKind.GIVEN_UP: (Account.WRITTEN_OFF, Account.STUDENT),
    EntryKind.COMPENSATION_CLAIMED: (Account.CARRIER, Account.COMPENSATION),
    EntryKind.COMPENSATION_RECEIVED: (Account.BANK, Account.CARRIER),
}

ACCOUNT_WORDS: dict[Account, str] = {
    Account.STUDENT: "student",
    Account.DEPOSITS: "deposits held",
    Account.BANK: "bank and cash",
    Account.CARRIER: "carrier",
    Account.CHARGES: "charges",
    Account.COMPENSATION: "compensation",
    Account.WRITTEN_OFF: "written off",
    Account.CARRIED: "carried to another loan",
}

KIND_WORDS: dict[EntryKind, str] = {
    EntryKind.DEPOSIT_ASKED: "deposit asked",
    EntryKind.DEPOSIT_RECEIVED: "deposit received",
    EntryKind.DEPOSIT_RELEASED: "deposit set off",
    EntryKind.CARRIED_OUT: "carried to another loan",
    EntryKind.CARRIED_IN: "carried from another loan",
    EntryKind.CHARGE: "charge",
    EntryKind.WAIVED: "waived",
    EntryKind.PAYMENT: "payment",
    EntryKind.REFUND: "refund",
    EntryKind.GIVEN_UP: "given up",
    EntryKind.COMPENSATION_CLAIMED: "asked of the carrier",
    EntryKind.COMPENSATION_RECEIVED: "paid by the carrier",
    EntryKind.REVERSAL: "taken back",
}
