"""Keeping the label sheets that a practice has measured itself."""

from __future__ import annotations

from rentals import transaction
from rentals.errors import Refused
from rentals.models import LabelSheet
from rentals.selectors.paper_facts.sheets import check_sheet


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
