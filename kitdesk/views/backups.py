"""Backups: which there are, and one more at once. The owner's page."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from kitdesk.backups import daily
from kitdesk.backups.problems import NotPossible
from kitdesk.backups.standing import folder_of_backups
from rentals.seals.chain import head_of_log
from rentals.web.request import DeskRequest


@require_safe
def backups(request: DeskRequest) -> HttpResponse:
    """What is kept, the last check, and the way to put one back."""
    standing = daily.standing()
    late = standing is not None and standing.is_late(timezone.now())
    facts = {"standing": standing, "is_late": late, "log_head": head_of_log()}
    return render(request, "kitdesk/backups.html", facts)


@require_POST
def backup_now(request: DeskRequest) -> HttpResponse:
    """Today's backup at once; it takes the place of an earlier one of today."""
    try:
        size = _back_up()
    except (NotPossible, OSError) as problem:
        messages.error(request, f"No backup was made. {problem}")
    else:
        messages.success(request, f"The backup is written: {size / 1e6:.1f} MB.")
    return redirect("backups")


def _back_up() -> int:
    # Not through the forms' own way of acting once: a copy of the database cannot be made inside a
    # transaction, and a second press only writes it anew.
    folder = folder_of_backups()
    if folder is None:
        raise NotPossible("KITDESK_BACKUPS is off, so there is no folder to write it to.")
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    return daily.make_backup(folder, timezone.now()).size
