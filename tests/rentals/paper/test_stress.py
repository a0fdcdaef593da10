"""Every paper and sheet with the hardest facts: no text covers another or leaves its place."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from rentals.codes import make_code
from rentals.paper.address_labels import address_labels, too_small_for_addresses
from rentals.paper.contents_statement import contents_statement
from rentals.paper.facts import (
    Address,
    AddressLabelFacts,
    ChargeFacts,
    RunFacts,
    StatementFacts,
    StockShortFacts,
)
from rentals.paper.packing_list import packing_list
from rentals.paper.pick_sheet import run_papers
from rentals.paper.sheets import SHEETS
from rentals.paper.statement import settling_statement
from rentals.planning.settlement import plain_lines

from .boxes import covered, drawn_texts, outside, trouble_on_sheet
from .made_up import LINES, PARCEL, PRACTICE

pytestmark = pytest.mark.any_database

#: One name in each of twenty scripts.
NAMES = (
    "Łucja Żółć-Ćwikła",
    "Ελένη Παππά",
    "Алёна Ковалёва",
    "שרה כהן",
    "سارة العلي",
    "पूर्णिमा शर्मा",
    "সুস্মিতা চক্রবর্তী",
    "தமிழ்ச்செல்வி",
    "శ్రీనివాస్",
    "สมชาย ใจดี",
    "សុភា ខ្មែរ",
    "刘晓伟",
    "劉曉偉",
    "田中みどり",
    "김민준",
    "ქეთევან",
    "Անահիտ",
    "አበበ",
    "ᐃᓄᒃ",
    "Nguyễn Thị Ánh Tuyết",
)
LONG_NAME = (
    "Maximiliana Theodora Wilhelmina von und zu Sonnenblumenfeld-Abendröte " + "Ottilie " * 6
)
ADDRESSES = (
    Address("Orla Byrne", "12 Harbour Row", "Galway", "H91 X2Y3", country="IE"),
    Address("A. Gruber", "Gasse 5/2/14", "Sankt Georgen", "4020", country="AT"),
    Address("Jo Smith", "Flat 2\n10 High Street", "Leeds", "LS1 1AA", country="GB"),
    Address("Ann Lee", "100 Main St Apt 4", "Springfield", "62704", "IL", country="US"),
    Address("Ana Souza", "Rua A 10", "Recife", "50000-000", "PE", "BR", "Centro"),
    Address("田中みどり", "桜台2-1-5", "練馬区", "176-0002", "東京都", country="JP"),
    Address("刘晓伟", "建国路88号", "北京市", "100022", "北京市", country="CN"),
    Address("김민준", "세종대로 110", "중구", "04524", "서울특별시", country="KR"),
    Address("سارة العلي", "شارع الملك فهد 12", "الرياض", "11564", country="SA"),
    Address("שרה כהן", "רחוב הדקל 17", "תל אביב", "61000", country="IL"),
    Address("पूर्णिमा शर्मा", "१२ गांधी मार्ग", "मुंबई", "400001", "Maharashtra", "IN"),
    Address("สมชาย ใจดี", "99/1 ถนนสุขุมวิท", "คลองเตย", "10110", "กรุงเทพ", "TH"),
)


def lines(count: int):
    """So many lines, names in all scripts, some of them long, batches and serials beside them."""
    long = LONG_NAME[:120]
    return tuple(
        replace(
            LINES[i % len(LINES)],
            name=long if i % 7 == 3 else f"{NAMES[i % len(NAMES)]} {i}",
            price=Decimal("25.124"),
        )
        for i in range(count)
    )


def parcel(count: int, to: Address):
    return replace(
        PARCEL,
        student=LONG_NAME[:120],
        lines=lines(count),
        address=to,
        override_reason="Why " * 100,
    )


def trouble(pdf: bytes, page: tuple[float, float]) -> list:
    found = []
    for texts in drawn_texts(pdf):
        found += covered(texts)
        found += outside(texts, (4, 4, page[0] - 4, page[1] - 2))
    return found


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_list_of_sixty_lines_and_a_pick_sheet_of_them(paper):
    page = {"A4": (210, 297), "Letter": (215.9, 279.4)}[paper]
    loan = parcel(60, ADDRESSES[5])
    assert trouble(packing_list(loan, paper=paper).pdf, page) == []
    short = StockShortFacts(LONG_NAME[:80], "48 needed, 12 here", "B4")
    run = RunFacts(
        PRACTICE, LONG_NAME[:120], date(2027, 2, 26), date(2027, 6, 18), [loan], (short,)
    )
    assert trouble(run_papers(run, paper=paper, inside_copy=True).pdf, page) == []


def test_statements_of_long_names_and_reasons():
    to = ADDRESSES[8]
    charge = ChargeFacts(LONG_NAME[:80], "missing", 3, Decimal("25.124"), "charged", "Why " * 50)
    facts = StatementFacts(
        replace(PRACTICE, currency="KWD"),
        make_code("K", 14),
        LONG_NAME[:120],
        LONG_NAME[:120],
        tuple(plain_lines(Decimal(150), [charge.claim] * 12, "KWD", date(2027, 7, 1))),
        date(2027, 7, 1),
        (charge,) * 12,
        address=to,
    )
    assert trouble(settling_statement(facts).pdf, (210, 297)) == []


def test_a_contents_statement_of_sixty_lines():
    assert trouble(contents_statement(parcel(60, ADDRESSES[3])).pdf, (210, 297)) == []


@pytest.mark.parametrize(
    "sheet",
    [sheet for sheet in SHEETS.values() if not too_small_for_addresses(sheet)],
    ids=lambda sheet: sheet.name,
)
def test_addresses_of_twelve_countries_stand_on_each_sheet_that_takes_them(sheet):
    for to in ADDRESSES:
        label = AddressLabelFacts(to, PRACTICE.address, "K0014E", 1240, phone="+49 30 5550 0137")
        try:
            printed = address_labels([label], sheet)
        except ValueError as refused:
            assert "it fits 99.1 x 67.7 mm" in str(refused)
            continue
        assert trouble_on_sheet(printed.pdf, sheet) == [], to.country
        sizes = {text.size for text in drawn_texts(printed.pdf)[0]}
        assert max(sizes) <= 14 and sorted(sizes)[-1] >= 8
