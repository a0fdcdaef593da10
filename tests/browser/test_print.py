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


def sheets(page: Page, address: str) -> list[str]:
    """The words of each sheet that the browser prints of a page, spaces left out."""
    page.goto(address)
    page.wait_for_load_state("networkidle")
    printed = pypdf.PdfReader(io.BytesIO(page.pdf(format="A4")))
    texts = (unicodedata.normalize("NFKC", sheet.extract_text()) for sheet in printed.pages)
    return [re.sub(r"\s", "", text) for text in texts]


def test_the_pages_one_takes_along_are_printed_in_full(browser_page: Page) -> None:
    loan, waiting = assigned_loan(), complete_kit(cleared=False)
    student, run = loan.enrolment.student.name, loan.enrolment.run
    browser_page.goto(f"/pack/{loan.kit.code}/")  # draws up the list
    lines = [line.name for line in PackingLine.objects.filter(loan=loan)]
    codes = [part.code for part in loan.kit.parts.all()]
    assert len(lines) == 8
    wanted = {
        "/": [loan.kit.code, student, waiting.code],
        run.get_absolute_url(): [run.name, student, loan.kit.code],
        f"/pack/{loan.kit.code}/": [student, *lines, *codes, "0of8intheparcel"],
        loan.kit.get_absolute_url(): [loan.kit.code, *codes, "History"],
    }
    for address, words in wanted.items():
        printed = sheets(browser_page, address)
        assert all(len(sheet) > 20 for sheet in printed), address
        text = "".join(printed)
        for word in words:
            assert word.replace(" ", "") in text, (address, word)
        # What is only pressed leaves neither a button nor a heading behind.
        assert not re.search(r"Papers$|More$|Takeout|Swap|Parcelmass", text), address
    assert len(sheets(browser_page, f"/pack/{loan.kit.code}/")) == 1
