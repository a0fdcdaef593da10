"""Pages put on paper by the browser itself: every row is there, and no sheet is empty."""

import io
import re
import unicodedata

import pypdf
import pytest
from playwright.sync_api import Page

from rentals.models import PackingLine
from tests.factories import assigned_loan, complete_kit

pytestmark = pytest.mark.browser


def sheets(pdf: bytes) -> list[str]:
    """The words of each sheet that a browser printed, spaces left out."""
    texts = (
        unicodedata.normalize("NFKC", sheet.extract_text())
        for sheet in pypdf.PdfReader(io.BytesIO(pdf)).pages
    )
    return [re.sub(r"\s", "", text) for text in texts]


def taken_along(loan) -> dict[str, list[str]]:
    """The pages that one takes along by address, and what must be written on each."""
    waiting = complete_kit(cleared=False)
    student, run = loan.enrolment.student.name, loan.enrolment.run
    lines = [line.name for line in PackingLine.objects.filter(loan=loan)]
    codes = [part.code for part in loan.kit.parts.all()]
    assert len(lines) == 8
    return {
        "/": [loan.kit.code, student, waiting.code],
        run.get_absolute_url(): [run.name, student, loan.kit.code],
        f"/pack/{loan.kit.code}/": [student, *lines, *codes, "0of8intheparcel"],
        loan.kit.get_absolute_url(): [loan.kit.code, *codes, "History"],
    }


def check_sheets(printed: list[str], words: list[str], address: str) -> None:
    """No sheet is empty, all words are there, and nothing of what is only pressed."""
    assert all(len(sheet) > 20 for sheet in printed), address
    text = "".join(printed)
    for word in words:
        assert word.replace(" ", "") in text, (address, word)
    # What is only pressed leaves neither a button nor a heading behind.
    assert not re.search(r"Papers$|More$|Takeout|Swap|Parcelmass", text), address


def test_the_pages_one_takes_along_are_printed_in_full(browser_page: Page) -> None:
    loan = assigned_loan()
    browser_page.goto(f"/pack/{loan.kit.code}/")  # draws up the list
    for address, words in taken_along(loan).items():
        browser_page.goto(address)
        browser_page.wait_for_load_state("networkidle")
        printed = sheets(browser_page.pdf(format="A4"))
        check_sheets(printed, words, address)
        assert len(printed) == 1 or not address.startswith("/pack/")
