"""Long data on every paper: nothing cut, nothing over another, nothing off the page."""

from dataclasses import replace
from datetime import date

import pypdfium2
import pytest

from rentals.paper.cells import cell_of
from rentals.paper.contents_statement import contents_statement
from rentals.paper.facts import Address, RunFacts, StockShortFacts
from rentals.paper.ink import Ink
from rentals.paper.packing_list import packing_list
from rentals.paper.pick_sheet import run_papers
from rentals.paper.statement import settling_statement

from .boxes import drawn_texts, trouble_on_page
from .made_up import PARCEL, PRACTICE, Line
from .reading import page_sizes
from .test_statement import SETTLED

pytestmark = pytest.mark.any_database


def _long(words: str, length: int) -> str:
    return (words * length)[: length - 4].rstrip() + " end"


STUDENT, RUN = _long("Maximiliana-Theodora ", 120), _long("Ease at the Instrument ", 120)
REASON = _long("Only this kit was left and its lead was moved by hand. ", 500)
EMAIL = "a.long.local.part.of.an.address@" + "sub.domain." * 18 + "example"
TOWN = Address("Ease", _long("Lindengang ", 90), "Musterhausen", "10999", country="DE")
PRACTICE_IN_FULL = replace(
    PRACTICE,
    name=_long("Practice of music ", 120),
    instructor=_long("Ilse ", 120),
    email=EMAIL,
    address=TOWN,
)
LINES = tuple(
    Line(
        _long(f"{n} Amplifier of two leads ", 120),
        ("amplifier", "electrodes", "card")[n % 3],
        serial=_long(f"SN{n}-", 60) if n % 3 == 0 else "",
        batch=_long(f"B{n}-", 40) if n % 3 == 1 else "",
        part_code="P00105" if n % 3 == 0 else "",
        expires_on=date(2027, 10, 31) if n % 3 == 1 else None,
        inner_bag=_long(f"Bag {n // 8} ", 60),
        comes_back=n % 2 == 0,
        shelf=f"B{n // 9}",
    )
    for n in range(60)
)
FULL = replace(
    PARCEL,
    practice=PRACTICE_IN_FULL,
    student=STUDENT,
    run=RUN,
    kit_type=_long("Training kit ", 120),
    lines=LINES,
    override_reason=REASON,
)
SHORT = StockShortFacts(_long("Gel ", 80), "24 needed, 3 here, 21 more to order", "B1")
PAPERS = {
    "packing list": lambda: packing_list(FULL),
    "inside copy": lambda: packing_list(FULL, inside_copy=True),
    "run papers": lambda: run_papers(
        RunFacts(PRACTICE_IN_FULL, RUN, date(2027, 2, 26), date(2027, 6, 18), [FULL], (SHORT,))
    ),
    "contents statement": lambda: contents_statement(FULL),
    "statement": lambda: settling_statement(
        replace(SETTLED, practice=PRACTICE_IN_FULL, student=STUDENT, run=RUN, address=TOWN)
    ),
}


def _words(pdf: bytes) -> list[str]:
    """The text of each page, by the quicker reader."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [" ".join(page.get_textpage().get_text_range().split()) for page in document]
    finally:
        document.close()


@pytest.fixture(scope="module")
def printed():
    return {name: draw().pdf for name, draw in PAPERS.items()}


@pytest.mark.parametrize("name", PAPERS)
def test_no_text_covers_another_or_leaves_the_page(printed, name):
    width, height = (side * 25.4 / 72 for side in page_sizes(printed[name])[0])
    for texts in drawn_texts(printed[name]):
        assert trouble_on_page(texts, (width, height), margin=3) == []


def test_a_list_of_long_names_is_whole_and_its_later_pages_say_whose_it_is(printed):
    for name in ("packing list", "inside copy"):
        pages = _words(printed[name])
        text = "".join("".join(pages).split())
        for line in LINES:
            for part in (line.name, line.serial, line.batch):
                assert "".join(part.split()) in text
        for page in pages[1:]:
            assert STUDENT in page and RUN in page and "K 0014 E" in page
            assert "Back with us by Friday 18 June 2027" in page and TOWN.street in page
        assert ("".join(REASON.split()) in text) == (name == "inside copy")
    assert "".join(EMAIL.split()) in "".join("".join(_words(printed["packing list"])).split())


def test_heads_of_columns_stand_above_rows_alone(printed):
    for page in _words(printed["packing list"]):
        has_row = "used up, do not return" in page or "comes back" in page
        assert ("on the way back" in page) == has_row


def test_no_caution_is_torn_in_two_wherever_the_page_ends():
    for count in range(16, 32, 3):
        facts = replace(PARCEL, lines=tuple(Line(f"Piece {n}", "card") for n in range(count)))
        pages = _words(packing_list(facts).pdf)
        for begin, end in (("Single-use electrodes", "irritated."), ("A reading", "another room.")):
            assert [begin in page for page in pages] == [end in page for page in pages]


def test_long_care_stands_above_the_cautions_and_is_whole():
    care = "\n".join(_long(f"{n}. Care for it well ", 190) for n in range(24))
    pages = _words(packing_list(replace(PARCEL, care=care)).pdf)
    text = " ".join(pages)
    assert len(pages) > 1
    for point in care.splitlines():
        assert point in text
    assert text.index("Care of leads") < text.index("23. Care") < text.index("Cautions")


def test_a_cell_is_set_smaller_first_and_then_on_more_lines():
    ink = Ink("Cells")
    width = ink.text_width("Andante con moto", 10)
    assert cell_of(ink, "Andante con moto", 10, width, 8).size == 10
    assert cell_of(ink, "Andante con moto", 10, width * 0.9, 8).lines == ("Andante con moto",)
    narrow = cell_of(ink, "Andante con moto", 10, width * 0.6, 8)
    assert (narrow.size, narrow.lines) == (8, ("Andante con", "moto"))
    assert cell_of(ink, "", 10, 50, 8).height == 0
