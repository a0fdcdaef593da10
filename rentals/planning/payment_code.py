"""How a payment is named and asked for: the creditor reference of a loan (ISO 11649), and the text
of a payment code that banking apps read (EPC069-12, version 002).
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from stdnum import iban, iso11649
from stdnum.iso7064 import mod_97_10

CURRENCY = "EUR"
LEAST, MOST = Decimal("0.01"), Decimal("999999999.99")
MOST_BYTES = 331
LONGEST_NAME = 70
_LINE = "\n"


@dataclass(frozen=True)
class PayeeAccount:
    """Where money is paid to; an empty `iban` where no account is set."""

    name: str = ""
    iban: str = ""
    bic: str = ""


def loan_reference(number: int) -> str:
    """The creditor reference of a loan by its number, with its check digits: ``RF..L00017``."""
    body = f"L{number:05d}"
    return f"RF{mod_97_10.calc_check_digits(f'{body}RF')}{body}"


def reference_text(reference: str) -> str:
    """A reference in groups of four, as people read and type it."""
    return str(iso11649.format(reference))


def payment_code(
    account: PayeeAccount, amount: Decimal, currency: str, reference: str
) -> str | None:
    """The text of the code; None where there can be none: no account, another currency than the
    euro, an amount out of bounds, or a text beyond 331 bytes.
    """
    if not account.iban or currency != CURRENCY or not LEAST <= amount <= MOST:
        return None
    lines = (
        "BCD",
        "002",
        "1",
        "SCT",
        account.bic,
        account.name[:LONGEST_NAME].strip(),
        account.iban,
        f"{CURRENCY}{amount:.2f}",
        "",
        reference,
    )
    text = _LINE.join(lines)
    return text if len(text.encode()) <= MOST_BYTES else None


def account_lines(account: PayeeAccount) -> list[str]:
    """Holder, IBAN and BIC as they are printed; nothing where no account is set."""
    if not account.iban:
        return []
    return [line for line in (account.name, iban.format(account.iban), account.bic) if line]
