"""What is kept no longer: students, photos of damage and roster drafts after their time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone

from rentals import transaction
from rentals.errors import Refused
from rentals.models import LinePhoto, LoanStage, Practice, RosterDraft, Student
from rentals.selectors.erasures import due_for_erasure, months_before

from .erase import erase
from .erase_files import delete_files
from .erased_list import note_erased_elsewhere, to_erase_again

#: Students of one run of `tick`, and those looked at for them.
MOST_AT_ONCE = 20
MOST_LOOKED_AT = 100
MOST_PHOTOS_AT_ONCE = 200


@dataclass(frozen=True)
class KeptNoLonger:
    """What one run has taken away."""

    students: int
    photos: int
    drafts: int


def keep_no_longer(*, at: datetime | None = None) -> KeptNoLonger:
    """Erase the students whose time is up, each in a transaction of its own, and those whom an
    older backup brought back; delete photos and drafts of before. Bounded; safe to repeat.
    """
    at = at or timezone.now()
    note_erased_elsewhere()
    erased = _erase_all(to_erase_again(), "again, after a backup was put back", at)
    due = due_for_erasure(timezone.localdate(at))[:MOST_LOOKED_AT]
    erased += _erase_all(list(due), "after the set time", at, most=MOST_AT_ONCE - erased)
    return KeptNoLonger(erased, _forget_photos(at), _forget_drafts(at))


def _erase_all(students: list[Student], why: str, at: datetime, most: int = MOST_AT_ONCE) -> int:
    erased = 0
    for student in students:
        if erased >= most:
            break
        try:
            erase(student, why=why, at=at)
        except Refused:
            continue
        erased += 1
    return erased


@transaction.atomic
def _forget_photos(at: datetime) -> int:
    """Delete photos of loans that were settled long ago; their lines stay."""
    before = months_before(timezone.localdate(at), Practice.current().months_to_keep_photos)
    settled = LinePhoto.objects.filter(packing_line__loan__stage=LoanStage.SETTLED)
    old = settled.filter(packing_line__loan__closed_at__date__lt=before, at__date__lt=before)
    photos = list(old.order_by("pk")[:MOST_PHOTOS_AT_ONCE])
    LinePhoto.objects.filter(pk__in=[photo.pk for photo in photos]).delete()
    delete_files([photo.file for photo in photos])
    return len(photos)


def _forget_drafts(at: datetime) -> int:
    before = at - timedelta(days=Practice.current().days_to_keep_drafts)
    deleted, _ = RosterDraft.objects.filter(at__lt=before).delete()
    return deleted
