"""References and payment codes, against published examples."""

from decimal import Decimal

import pytest
from stdnum import iban, iso11649

from rentals.planning.payment_code import (
    PayeeAccount,
    account_lines,
    loan_reference,
    payment_code,
    reference_text,
)

pytestmark = pytest.mark.any_database

# Account and payee of the example in the guideline EPC069-12; values from memory.
EXAMPLE = PayeeAccount("Franz Mustermänn", "DE71110220330123456789", "BHBLDEHHXXX")


def test_a_published_reference_and_a_published_iban_are_valid():
    # RF18 5390 0754 7034 is the example of ISO 11649, GB82 WEST 1234 5698 7654 32 that of the IBAN
    # registry's check (ISO 13616).
    assert iso11649.is_valid("RF18539007547034")
    assert iban.is_valid("GB82WEST12345698765432")


@pytest.mark.parametrize("number", [1, 17, 99999, 12345678901234567890])
def test_the_reference_of_a_loan_has_check_digits_that_fit(number):
    reference = loan_reference(number)
    assert iso11649.is_valid(reference) and len(reference) <= 25
    moved = f"{reference[4:]}{reference[:4]}"
    assert int("".join(str(int(sign, 36)) for sign in moved)) % 97 == 1


def test_one_wrong_digit_is_noticed():
    reference = loan_reference(17)
    wrong = reference[:-1] + "8"
    assert reference.endswith("L00017") and not iso11649.is_valid(wrong)
    assert reference_text(reference).replace(" ", "") == reference


def test_the_lines_are_those_of_the_guidelines_example():
    text = payment_code(EXAMPLE, Decimal("12.3"), "EUR", "RF18539007547034")
    assert text is not None
    assert text.split("\n") == [
        "BCD",
        "002",
        "1",
        "SCT",
        "BHBLDEHHXXX",
        "Franz Mustermänn",
        "DE71110220330123456789",
        "EUR12.30",
        "",
        "RF18539007547034",
    ]


@pytest.mark.parametrize(
    ("amount", "currency", "has_one"),
    [
        ("0.01", "EUR", True),
        ("0.00", "EUR", False),
        ("999999999.99", "EUR", True),
        ("1000000000", "EUR", False),
        ("10", "CHF", False),
    ],
)
def test_there_is_a_code_for_euros_within_bounds_only(amount, currency, has_one):
    text = payment_code(EXAMPLE, Decimal(amount), currency, loan_reference(1))
    assert (text is not None) == has_one


def test_without_an_account_there_is_none_and_a_long_name_is_cut_to_what_the_code_takes():
    assert payment_code(PayeeAccount("Ida"), Decimal(1), "EUR", loan_reference(1)) is None
    assert account_lines(PayeeAccount("Ida")) == []
    long = PayeeAccount("ø" * 90, EXAMPLE.iban, EXAMPLE.bic)
    text = payment_code(long, Decimal(1), "EUR", loan_reference(1))
    assert text is not None and len(text.encode()) <= 331
    assert account_lines(EXAMPLE)[1] == "DE71 1102 2033 0123 4567 89"
