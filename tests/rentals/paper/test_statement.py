from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from rentals.accounts import EntryKind
from rentals.paper.facts import ChargeFacts, StatementFacts
from rentals.paper.statement import settling_statement
from rentals.planning.ledger import LedgerLine, line_of
from rentals.planning.payment_code import PayeeAccount, loan_reference, reference_text
from rentals.planning.settlement import plain_lines

from .made_up import PARCEL, PRACTICE
from .reading import codes_in, page_sizes, picture, text_of

CHARGES = (
    ChargeFacts("Licence key on USB stick", "missing", 1, Decimal("85.005"), "charged"),
    ChargeFacts("Lead set", "damaged", 1, Decimal(60), "waived", "worn out"),
    ChargeFacts("Elastic band", "missing", 2, Decimal(6), "recovered"),
    ChargeFacts("Charger", "missing", 1, Decimal(22), "open"),
)
OWN = StatementFacts(
    practice=PRACTICE,
    kit_code=PARCEL.kit_code,
    student=PARCEL.student,
    run=PARCEL.run,
    lines=(),
    settled_on=date(2027, 7, 2),
    charges=CHARGES,
    sent_on=date(2027, 2, 25),
    came_back_on=date(2027, 6, 16),
    address=PARCEL.address,
)


def with_money(
    facts: StatementFacts,
    deposit: Decimal,
    *,
    charges: tuple[ChargeFacts, ...] = CHARGES,
    then: tuple[LedgerLine, ...] = (),
) -> StatementFacts:
    """The statement of a loan with a deposit that was paid, charges, and what was paid then."""
    claims = [charge.claim for charge in charges]
    lines = plain_lines(deposit, claims, facts.practice.currency, facts.settled_on)
    return replace(facts, charges=charges, lines=(*lines, *then))


SETTLED = with_money(OWN, Decimal(150))


def test_charges_beyond_the_deposit_are_still_to_pay():
    text = text_of(settling_statement(with_money(SETTLED, Decimal(50))).pdf)
    assert "To pay so far €35.01" in text
    settled = with_money(SETTLED, Decimal(50), charges=CHARGES[:3])
    assert "Still to pay €35.01" in text_of(settling_statement(settled).pdf)
    assert "Paid back" not in text


def test_the_statement_names_every_shortfall_and_what_goes_back():
    text = text_of(settling_statement(SETTLED).pdf)
    for part in (
        "K 0014 E",
        "settled on 2 July 2027",
        "Sent 25 February 2027",
        "Back 16 June 2027",
        "Deposit paid on 2 July 2027 €150.00",
        "Licence key on USB stick 1 missing, charged €85.01 - €85.01",
        "Lead set worn out 1 damaged, waived €60.00 €60.00 -",
        "Elastic band 2 missing, recovered - - -",
        "Charger 1 missing, open €22.00 - -",
        "In all €167.01 €60.00 €85.01",
        "Provisional statement",
        "Of it not decided yet, not counted €22.00",
        "Charged to you on 2 July 2027 -€85.01",
        "paid by Ease at the Instrument, Tannenhof Music College, not by you",
        "To be paid back if nothing more is charged €64.99",
        "not settled yet",
        "desk@ease.example",
    ):
        assert part in text


def test_a_clean_return_is_thanked_and_refunded_in_full():
    text = text_of(settling_statement(with_money(SETTLED, Decimal(150), charges=())).pdf)
    assert "rovisional" not in text
    assert "came back in order" in text
    assert "To be paid back to you €150.00" in text
    back = line_of(EntryKind.REFUND, Decimal(150), date(2027, 7, 5))
    paid = text_of(
        settling_statement(with_money(SETTLED, Decimal(150), charges=(), then=(back,))).pdf
    )
    assert "Paid back to you on 5 July 2027 -€150.00" in paid
    assert "Nothing is left to pay on either side €0.00" in paid


def test_how_and_by_when_to_pay_stands_there_while_it_is_owed():
    practice = replace(PRACTICE, payment="Harbour Bank, account 12")
    loan = replace(SETTLED, practice=practice, pay_by=date(2027, 7, 16))
    owing = with_money(loan, Decimal(50), charges=CHARGES[:3])
    by_student = line_of(EntryKind.PAYMENT, Decimal("35.01"), date(2027, 7, 9))
    paid = with_money(loan, Decimal(50), charges=CHARGES[:3], then=(by_student,))
    text = text_of(settling_statement(owing).pdf)
    assert "Still to pay by 16 July 2027 €35.01" in text
    assert "Please pay €35.01 by 16 July 2027, naming kit K 0014 E. Harbour Bank" in text
    for nothing_owed in (
        paid,
        replace(owing, charges=CHARGES),
        replace(owing, settled=False),
    ):
        assert "Harbour Bank" not in text_of(settling_statement(nothing_owed).pdf)
    assert "Paid by you on 9 July 2027 €35.01" in text_of(settling_statement(paid).pdf)


def test_a_banking_app_reads_what_is_owed_from_the_printed_statement():
    account = PayeeAccount("Tannenhof Müsic", "DE71110220330123456789", "BHBLDEHHXXX")
    loan = replace(
        SETTLED, practice=replace(PRACTICE, account=account), reference=loan_reference(17)
    )
    owing = with_money(loan, Decimal(50), charges=CHARGES[:3])
    printed = settling_statement(owing).pdf
    code = "\n".join(
        (
            "BCD",
            "002",
            "1",
            "SCT",
            "BHBLDEHHXXX",
            "Tannenhof Müsic",
            "DE71110220330123456789",
            "EUR35.01",
            "",
            loan_reference(17),
        )
    )
    assert codes_in(picture(printed)) == [code]
    text = text_of(printed)
    named = f"DE71 1102 2033 0123 4567 89 BHBLDEHHXXX {reference_text(loan_reference(17))}"
    assert named in text
    francs = replace(owing, practice=replace(owing.practice, currency="CHF"))
    paid = with_money(loan, Decimal(150), charges=CHARGES[:3])
    for without in (francs, paid, replace(owing, settled=False)):
        pdf = settling_statement(without).pdf
        assert codes_in(picture(pdf, dpi=150)) == [] and "banking app" not in text_of(pdf)


def test_the_end_of_the_loan_is_told_as_it_was():
    lost = text_of(settling_statement(replace(SETTLED, lost=True, came_back_on=None)).pdf)
    assert "has not come back and was written off" in lost and "Not come back" in lost
    recovered = text_of(
        settling_statement(with_money(SETTLED, Decimal(150), charges=CHARGES[2:3])).pdf
    )
    assert "everything is here now" in recovered and "in order" not in recovered
    even = with_money(SETTLED, Decimal("85.01"), charges=CHARGES[:1])
    assert "Nothing is left to pay on either side" in text_of(settling_statement(even).pdf)


def test_no_reason_and_no_name_is_cut():
    reason = "Because of a reason that is told at length. " * 6
    name, run = "Part of many words " * 6, "Run of many words " * 6
    charges = tuple(
        ChargeFacts(f"{n} {name}", "missing", 1, Decimal("12345.55"), "charged", f"{n} {reason}")
        for n in range(20)
    )
    facts = with_money(
        replace(SETTLED, student="Maximiliana " * 10, run=run), Decimal(150), charges=charges
    )
    text = text_of(settling_statement(facts).pdf)
    assert "..." not in text
    for n in range(20):
        assert f"{n} {name}".strip() in text and f"{n} {reason}".strip() in text


@pytest.mark.parametrize(
    ("paper", "size"), [("A4", (595.2756, 841.8898)), ("Letter", (612.0, 792.0))]
)
def test_it_is_one_page_of_the_paper_asked_for(paper, size):
    printed = settling_statement(SETTLED, paper=paper)
    assert page_sizes(printed.pdf) == [pytest.approx(size, abs=1e-3)]


def test_the_same_facts_give_the_same_bytes():
    assert settling_statement(SETTLED).pdf == settling_statement(SETTLED).pdf
