"""The address stands where the window of an envelope shows it."""

from dataclasses import replace
from io import BytesIO

import pytest
from pypdf import PdfReader

from rentals.paper.facts import Address
from rentals.paper.statement import settling_statement

from .test_statement import SETTLED

pytestmark = pytest.mark.any_database
MM = 72 / 25.4
#: DIN 5008 form B: the zone for the address, millimetres from the sheet's left and upper edge. For
#: Letter what a number 10 window (114.3 x 28.6, 22.2 from the left, 12.7 from the bottom of an
#: envelope 104.8 high) shows of a third of the sheet wherever it lies. From memory.
SEEN = {"A4": (20.0, 62.7, 105.0, 90.0), "Letter": (22.2, 63.2, 136.5, 80.4)}
SHORT = ("Łucja Ábrahám", "12 Harbour Row", "IRELAND")
LONG = Address(
    "Maximiliana Theodora of the Long Name, who signs with all of her names, every one of them",
    "Care of the Music College at the Old Harbour\nSecond courtyard, third staircase\nHouse 12 b",
    "Llanfair by the Sea",
    "LL61 5UJ",
    country="GB",
)


def _places(pdf: bytes, paper: str) -> list[tuple[float, float, str]]:
    """Each text on the first page with the place of its baseline, from the upper left corner."""
    places: list[tuple[float, float, str]] = []
    page = PdfReader(BytesIO(pdf)).pages[0]
    height = float(page.mediabox.height)

    def note(text: str, cm: list[float], tm: list[float], font: object, size: float) -> None:
        if text.strip():
            places.append((tm[4] / MM, (height - tm[5]) / MM, text.strip()))

    page.extract_text(visitor_text=note)
    return places


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("to", [SETTLED.address, LONG])
def test_every_line_of_the_address_is_seen_through_the_window(paper, to):
    left, top, right, bottom = SEEN[paper]
    printed = settling_statement(replace(SETTLED, address=to), paper=paper)
    seen = [
        text
        for x, y, text in _places(printed.pdf, paper)
        if left < x < right - 60 and top < y < bottom
    ]
    wanted = to.name if to is LONG else SHORT[0]
    words = " ".join(" ".join(seen).split())
    assert wanted.split()[0] in words and wanted.split()[-1] in words
    for part in (*to.street.splitlines(), to.city.upper(), to.postcode):
        assert part in words
    assert "Statement" not in words and "Sent" not in words


def test_the_sender_stands_small_above_the_address_and_the_folds_are_marked():
    texts = [text for _, y, text in _places(settling_statement(SETTLED).pdf, "A4") if 55 < y < 62]
    assert "Ease at the Instrument, Lindengang 4, 10999 MUSTERHAUSEN" in texts
