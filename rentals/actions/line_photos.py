"""Photos of a line of a parcel: added at the return check or later, removed with a trace."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime

from django.core.files.base import ContentFile
from django.utils import timezone

from rentals import transaction
from rentals.counts import counted
from rentals.dates import short_date
from rentals.errors import Refused
from rentals.laid_files import LaidFile, digest_of, drop_after_act, laying_down
from rentals.lifecycle import Verb
from rentals.models import LinePhoto, PackingLine

from .record import Actor, lock_kit, record_kit

MOST_PHOTOS = 8


@contextmanager
def laid_photos(photos: Sequence[ContentFile]) -> Iterator[list[LaidFile]]:
    """Photos, stored before the act that keeps them with a line. Raises OSError."""
    with laying_down() as lay:
        yield [lay(f"damage/{photo.name}", photo, digest_of(photo)) for photo in photos]


@transaction.atomic
def add_photos(
    packed: PackingLine,
    photos: Sequence[LaidFile],
    *,
    field: str = "photos",
    actor: Actor = None,
    at: datetime | None = None,
) -> int:
    """Keep photos with a line and return how many are new: one that is there already, as when a
    form arrives twice, is not kept again. A refusal stands beside `field`.

    Raises
    ------
    Refused
        If the line would have more than 8 photos.
    """
    kit = lock_kit(packed.loan.kit_id)
    at = at or timezone.now()
    present = set(packed.photos.values_list("digest", flat=True))
    fresh = {photo.digest: photo for photo in photos if photo.digest not in present}
    if len(present) + len(fresh) > MOST_PHOTOS:
        raise Refused(
            f"{packed.name} has {counted(len(present), 'photo', 'photos')}; up to {MOST_PHOTOS}"
            " are kept. Remove one first, or add fewer.",
            field=field,
        )
    for digest, photo in fresh.items():
        LinePhoto.objects.create(packing_line=packed, file=photo.named(), digest=digest, at=at)
    if fresh:
        text = f"{counted(len(fresh), 'photo', 'photos')} of {packed.name} added."
        record_kit(kit, Verb.NOTED, text, actor=actor, loan=packed.loan, part=packed.part, at=at)
    return len(fresh)


@transaction.atomic
def remove_photo(photo: LinePhoto, *, actor: Actor = None, at: datetime | None = None) -> None:
    """Take a photo away for good, then its file; that there was one stays in the history."""
    packed = photo.packing_line
    kit = lock_kit(packed.loan.kit_id)
    here = LinePhoto.objects.filter(pk=photo.pk).first()
    if here is None:
        return
    day = short_date(timezone.localtime(here.at).date())
    drop_after_act(str(here.file.name))
    here.delete()
    text = f"Photo of {packed.name} of {day} removed."
    record_kit(kit, Verb.NOTED, text, actor=actor, loan=packed.loan, part=packed.part, at=at)
