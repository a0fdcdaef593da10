"""Keeping the label sheets that a practice has measured itself."""

from __future__ import annotations

from django.db import transaction

from rentals.errors import Refused
from rentals.models import LabelSheet
from rentals.paper.sheets import SHEETS
from rentals.selectors.paper_facts.sheets import layout_of


def check_sheet(sheet: LabelSheet) -> None:
    """Raise Refused for labels that overlap or leave the page, and for the name of a built-in
    sheet.
    """
    if sheet.name in SHEETS:
        raise Refused("A built-in sheet has this name. Choose another.", field="name")
    try:
        layout_of(sheet)
    except ValueError as wrong:
        raise Refused(f"These measures do not work: {wrong}.") from wrong


@transaction.atomic
def save_sheet(sheet: LabelSheet) -> LabelSheet:
    """Keep a new or changed sheet; see ``check_sheet`` for what is refused."""
    check_sheet(sheet)
    if LabelSheet.objects.filter(name=sheet.name).exclude(pk=sheet.pk).exists():
        raise Refused("Another sheet of yours has this name. Choose another.", field="name")
    sheet.save()
    return sheet


@transaction.atomic
def remove_sheet(sheet: LabelSheet) -> None:
    """Forget a sheet; nothing that was printed depends on it."""
    sheet.delete()
