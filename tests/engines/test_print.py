"""Pages put on paper by Firefox: every row is there, and no sheet is empty. (WebKit's driver has no
command to print.)
"""

from __future__ import annotations

import base64

import pytest
from selenium.webdriver.common.print_page_options import PrintOptions

from tests.browser.test_print import check_sheets, sheets, taken_along
from tests.conftest import OWNER_NAME, OWNER_PASSWORD
from tests.engines.window import LAPTOP
from tests.factories import assigned_loan

pytestmark = [pytest.mark.engines, pytest.mark.django_db(transaction=True)]


@pytest.mark.parametrize("engine", ["firefox"], indirect=True)
def test_what_is_taken_along(engine: str, open_window, owner, clean_cache) -> None:
    loan = assigned_loan()
    window = open_window(engine, LAPTOP)
    window.sign_in(OWNER_NAME, OWNER_PASSWORD)
    window.open(f"/pack/{loan.kit.code}/")  # draws up the list
    paper = PrintOptions()
    paper.set_page_size(PrintOptions.A4)
    for address, words in taken_along(loan).items():
        window.open(address)
        printed = sheets(base64.b64decode(window.driver.print_page(paper)))
        check_sheets(printed, words, address)
        assert len(printed) == 1 or not address.startswith("/pack/")
