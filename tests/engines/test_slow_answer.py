"""An answer that comes late takes no letter away that is typed meanwhile."""

from __future__ import annotations

import threading

import pytest

from rentals.models import ReturnLine
from rentals.views import receive
from tests.browser.test_lost_connection import checked_loan
from tests.conftest import OWNER_NAME, OWNER_PASSWORD
from tests.engines.window import PHONE

pytestmark = [pytest.mark.engines, pytest.mark.django_db(transaction=True)]
LONGEST_S = 60


def test_letters_typed_meanwhile(engine, open_window, owner, clean_cache, monkeypatch) -> None:
    loan, let_through, keep = checked_loan(), threading.Event(), receive.note_line

    def keep_late(line: ReturnLine, **facts: object) -> ReturnLine:
        assert let_through.wait(LONGEST_S)
        return keep(line, **facts)

    monkeypatch.setattr(receive, "note_line", keep_late)
    line = ReturnLine.objects.get(check_of__loan=loan, packing_line__part_kind="lead_set")
    row, note = f"#line-{line.pk}", f"line{line.pk}-note"
    window = open_window(engine, PHONE)
    window.sign_in(OWNER_NAME, OWNER_PASSWORD)
    window.open(f"/receive/{loan.kit.code}/")
    window.press(f"{row} summary")
    window.press(f"{row} label[for$=_damaged]")
    window.wait_for(lambda: window.run("return !!document.querySelector('[aria-busy=true]')"))
    window.press(f"{row} [name={note}]")
    window.type_on("Cable fr")
    let_through.set()
    window.settled()
    window.sees("1 of 7 looked at")
    assert window.run("return document.activeElement.name") == note
    window.type_on("ayed")
    window.press("h1")
    window.settled()
    line.refresh_from_db()
    assert (line.outcome, line.note) == ("damaged", "Cable frayed")
