"""A student's papers in the student's language: words, dates, numbers, amounts, layout."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from io import BytesIO

import pytest
from pypdf import PdfReader

from rentals.accounts import EntryKind
from rentals.catalogues import in_language
from rentals.paper.contents_statement import contents_statement
from rentals.paper.facts import ChargeFacts, PackingListFacts, Printed
from rentals.paper.packing_list import packing_list
from rentals.paper.statement import settling_statement
from rentals.planning.ledger import LedgerLine, line_of
from rentals.planning.starter import STARTER_CARE, STARTER_LINES, STARTER_NAME, in_students_words
from tests.rentals.wrong_forms import wrong_forms

from .made_up import LINES, PARCEL, PRACTICE
from .reading import page_texts, text_of
from .test_statement import OWN, with_money

pytestmark = pytest.mark.any_database

LANGUAGES = ["de", "fr", "es"]
REVERSED = ("deposit_received", "charge", "payment", "refund", "given_up")
FATES = ("charged", "waived", "recovered", "chased")


def _parcel(language: str) -> PackingListFacts:
    """The made-up parcel with the contents of the ready kit type."""
    proposed = zip(LINES, STARTER_LINES, strict=True)
    with in_language(language):
        lines = tuple(
            replace(line, name=in_students_words(ready.name), inner_bag="")
            for line, ready in proposed
        )
        name, care = in_students_words(STARTER_NAME), in_students_words(STARTER_CARE)
    practice = replace(PRACTICE, name="Ease", locale=language)
    return replace(
        PARCEL,
        practice=practice,
        run="2027",
        lines=lines,
        kit_type=name,
        care=care,
        student="Łucja",
    )


def _statement(language: str, *fates: str, then: tuple[LedgerLine, ...] = (), **facts) -> Printed:
    parcel = _parcel(language)
    charges = tuple(
        ChargeFacts(line.name, what, 1, Decimal("1234.5"), fate)
        for line, what, fate in zip(LINES, ("missing", "damaged") * 2, fates, strict=False)
    )
    who = {"practice": parcel.practice, "student": parcel.student, "run": parcel.run}
    own = replace(OWN, settled_on=date(2027, 7, 1), **who, **facts)
    deposit = Decimal(150)
    return settling_statement(with_money(own, deposit, charges=charges, then=then))


def _every_kind_of_entry() -> tuple[LedgerLine, ...]:
    """One entry of each kind that touches a student, and each taken back."""
    day = date(2027, 8, 1)
    kinds = [kind for kind in EntryKind if kind is not EntryKind.REVERSAL]
    lines = [line_of(kind, Decimal("12.5"), day) for kind in kinds]
    backs = [
        replace(
            line, kind=EntryKind.REVERSAL, debit=line.credit, credit=line.debit, takes_back=kind
        )
        for kind, line in zip(kinds, lines, strict=True)
        if kind in REVERSED
    ]
    return (*lines, *backs)


def _papers(language: str) -> list[Printed]:
    parcel = _parcel(language)
    return [
        packing_list(parcel),
        packing_list(replace(parcel, lines=parcel.lines * 3)),
        contents_statement(parcel, back=True, wrapping_g=80),
        _statement(language, *FATES),
        _statement(language, "charged", pay_by=date(2027, 7, 15)),
        _statement(language, "charged", then=_every_kind_of_entry()),
        _statement(language, "open", lost=True, settled=False),
    ]


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_paper_holds_english_words_dates_numbers_or_amounts(language):
    for printed in _papers(language):
        names = {line.name for line in LINES}  # What the owner typed stays as it was typed.
        text = text_of(printed.pdf)
        for name in names:
            text = text.replace(name, "")
        assert wrong_forms(text, language) == []
        assert printed.unprintable == ()
        assert "..." not in text, "cut off"
        document = PdfReader(BytesIO(printed.pdf))
        assert document.trailer["/Root"]["/Lang"] == language


@pytest.mark.parametrize("language", LANGUAGES)
def test_longer_words_keep_a_normal_kit_on_one_page(language):
    assert len(page_texts(packing_list(_parcel(language)).pdf)) == 1


def test_dates_and_amounts_have_the_form_of_the_language_and_its_country():
    german = text_of(_statement("de", *FATES).pdf)
    assert "abgerechnet am 1. Juli 2027" in german and "1.234,50 €" in german
    french = text_of(_statement("fr", *FATES).pdf)
    assert "décompte établi le 1er juillet 2027" in french and "1 234,50 €" in french
    assert "liquidado el 1 de julio de 2027" in text_of(_statement("es", *FATES).pdf)
    assert "€ 1.234,50" in text_of(_statement("de-at", *FATES).pdf)
    assert "0,709" in text_of(contents_statement(_parcel("es"), back=True, wrapping_g=80).pdf)


def test_what_was_typed_stays_as_it_was_typed():
    typed = packing_list(replace(PARCEL, practice=replace(PRACTICE, locale="de")))
    text = text_of(typed.pdf)
    assert "Two-lead amplifier" in text and "Padded pouch" in text and "Packliste" in text


def test_wrong_forms_are_found():
    wrong = "Sent 12 March 2027 or 2027-03-12, 2.5 V, €12, 1,234 and 3 days"
    found = wrong_forms(wrong + " No trace at all: the cells are flat.", "de")
    assert {"12 March", "2027-03-12", "2.5", "€1", "1,234", "3 days"} <= set(found)
    right = "12. März 2027, 2,5 V, 12,00 €, 1.234,50 € und 0,709 kg, 49 CFR 172.102"
    assert wrong_forms(right, "de") == []
