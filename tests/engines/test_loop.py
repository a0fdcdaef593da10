"""The loop in Firefox and WebKit, at a phone's width and at a laptop's."""

from __future__ import annotations

import pytest
from django.urls import reverse

from rentals.models import Loan
from tests.conftest import OWNER_NAME, OWNER_PASSWORD
from tests.engines.window import Window
from tests.factories import EnrolmentFactory
from tests.flows.desk import house

pytestmark = [pytest.mark.engines, pytest.mark.django_db(transaction=True)]


def assign(window: Window, enrolment, kit) -> None:
    window.open(f"{enrolment.run.get_absolute_url()}assign/")
    window.fill(f"[name=kit_{enrolment.pk}]", kit.code)
    window.press(".page-action button")
    window.sees(enrolment.run.name, "h1")


def pack(window: Window, kit, stranger) -> None:
    window.scan("#scan-box", kit.code)
    window.sees("Pack", "h1")
    window.scan("#id_scan", stranger.code)
    window.sees(f"belongs to kit {stranger.kit.code}", "#scan-said")
    for part in kit.parts.all():
        window.scan("#id_scan", part.code.lower())
        window.sees(f"{part.code} ticked", "#scan-said")
    for name in ("Gel electrodes", "Wrist band", "Shipping box"):
        window.press(".checklist button", name)
    window.sees("All in the parcel")
    window.settled()
    window.press(".page-action button", "Pack")
    window.sees("Dispatch", "h1")


def check(window: Window, kit) -> Loan:
    """All is back but the licence key, and lead B is damaged."""
    window.scan("#scan-box", kit.code)
    window.press(".page-action button", "The parcel is here")
    window.sees("Look at every line")
    loan = Loan.objects.get(kit=kit, stage="check")
    lines = loan.return_check.lines.select_related("packing_line")
    for line in lines.filter(packing_line__comes_back=True):
        row, name = f"#line-{line.pk}", f"line{line.pk}"
        kind = line.packing_line.part_kind
        outcome = {"licence_key": "missing", "lead_set": "damaged"}.get(kind, "back")
        window.press(f"{row} label[for={name}_{outcome}]")
        window.settled()
        for step in ("cleaned", "charged"):
            if window.run(f"return !!document.querySelector('[name={name}-{step}]')"):
                window.press(f"{row} [name={name}-{step}]")
                window.settled()
        if kind == "lead_set":
            window.press(f"{row} [name={name}-damaged_lead] option[value=B]")
            window.fill(f"{row} [name={name}-note]", "Cable frayed")
    window.press("[name=finish]", "Finish the check")
    window.sees("Shortfalls")
    return loan


def settle(window: Window, loan: Loan) -> None:
    for short in loan.shortfalls.all():
        window.open(loan.get_absolute_url())
        window.press(f"a[href='{reverse('rentals:shortfall', args=[short.pk])}']")
        window.press("main a", "Waive")
        window.fill("#id_reason", "Worn out")
        window.press("main button", "Waive")
        window.sees("Worn out")
    window.open(loan.get_absolute_url())
    window.press("a[href$='/settle/']")
    window.press("main button", "Settle")
    window.sees("settled", ".page-title")


def test_the_loop(engine, size, open_window, owner, clean_cache) -> None:
    run, _, kit, other = house()
    enrolment = EnrolmentFactory(run=run)
    window = open_window(engine, size)
    window.sign_in(OWNER_NAME, OWNER_PASSWORD)
    assign(window, enrolment, kit)
    pack(window, kit, other.parts.get(kind="charger"))
    window.fill("#id_tracking_number", "RR 42")
    window.press(".page-action button", "Dispatch")
    window.sees("is on its way")
    loan = check(window, kit)
    assert set(loan.shortfalls.values_list("packing_line__part_kind", "kind", "detail")) == {
        ("licence_key", "missing", ""),
        ("lead_set", "damaged", "lead B: Cable frayed"),
    }
    settle(window, loan)
    loan.refresh_from_db()
    assert loan.stage == "settled"
