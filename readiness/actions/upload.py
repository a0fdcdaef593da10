"""Taking in a drop of capture files: each is kept byte for byte, or turned away with a sentence."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from datetime import datetime

from django.conf import settings
from django.core.files.base import File
from django.db import IntegrityError, transaction
from django.utils import timezone

from readiness.intake.matching import read_name
from readiness.models import Capture, TurnedAway, Upload
from readiness.tasks import score_later
from rentals.actions.record import Actor
from rentals.codes import grouped
from rentals.errors import Refused
from rentals.models import Kit

CHUNK = 1024 * 1024


@transaction.atomic
def store_upload(
    files: Iterable[File],
    *,
    actor: Actor = None,
    at: datetime | None = None,
    kit: Kit | None = None,
) -> Upload:
    """Keep the files of one drop and start their scoring in the background.

    Parameters
    ----------
    files : iterable of django File
        Each with `name` and `size`.
    kit : Kit, optional
        The kit whose page the files were dropped on, for files that do not name one.

    Raises
    ------
    Refused
        If there is no file at all. A single file that cannot be kept is turned away; the others are
        kept.
    """
    files = list(files)
    if not files:
        raise Refused("Choose at least one capture file.", field="files")
    upload = Upload.objects.create(at=at or timezone.now(), by=actor)
    kept = []
    for file in files:
        taken_in = _keep(upload, file, kit)
        if isinstance(taken_in, Capture):
            kept.append(taken_in.pk)
        else:
            taken_in.save()
    for pk in kept:
        score_later(pk)
    return upload


def _keep(upload: Upload, file: File, kit: Kit | None) -> Capture | TurnedAway:
    """The capture made of one file, or the unsaved note of why it was turned away."""
    name, most = shown_name(file.name), settings.KITDESK_CAPTURE_MAX_BYTES
    away = TurnedAway(upload=upload, name=name)
    if file.size == 0:
        away.sentence = (
            "The file is empty. Save the capture again and drop it once the program has closed it."
        )
        return away
    if file.size > most:
        size = f"The file has {file.size / 2**20:.1f} MiB; at most {most // 2**20} MiB are taken."
        away.sentence = f"{size} Save only the ten seconds."
        return away
    digest = digest_of(file)
    named = read_name(name)
    own = Kit.objects.filter(code=named.kit).first() if named.kit else kit
    capture = Capture(
        upload=upload,
        name=name,
        size=file.size,
        sha256=digest,
        kit=own,
        test=named.test or "",
        taken=upload.at,
        declared={"page_kit": kit.code} if kit else {},
    )
    earlier = _earlier(digest) or _save(capture, file)
    if earlier is not None:
        away.sentence, away.same_as = same_bytes_sentence(earlier), earlier
        return away
    return capture


def _earlier(digest: str) -> Capture | None:
    """The capture whose bytes have this digest, if there is one."""
    return Capture.objects.filter(sha256=digest).select_related("kit", "upload").first()


def _save(capture: Capture, file: File) -> Capture | None:
    """Save row and bytes; gives the earlier capture where another process kept the same bytes a
    moment ago.
    """
    try:
        with transaction.atomic():
            capture.save()
    except IntegrityError:
        return Capture.objects.select_related("kit", "upload").get(sha256=capture.sha256)
    field, storage = capture.file, capture.file.storage
    name = field.field.generate_filename(capture, capture.name)
    if storage.exists(name):
        # Left over from a drop that was rolled back; the name is the digest, so the bytes are
        # these.
        storage.delete(name)
    file.seek(0)
    field.save(name, file, save=False)
    capture.save(update_fields=["file"])
    return None


def digest_of(file: File) -> str:
    """SHA-256 of a file's bytes, read in pieces."""
    digest = hashlib.sha256()
    for piece in file.chunks(CHUNK):
        digest.update(piece)
    return digest.hexdigest()


def shown_name(name: str | None) -> str:
    """A file's name as it is kept and shown: no folders, nothing that cannot be printed, 255
    characters at most.
    """
    last = str(name or "").replace("\\", "/").rpartition("/")[2]
    return "".join(c if c.isprintable() else "?" for c in last)[:255] or "without a name"


def same_bytes_sentence(earlier: Capture) -> str:
    """Why a file whose bytes are here already is not kept again, naming the first."""
    whose = f"for kit {grouped(earlier.kit.code)}" if earlier.kit else "whose kit is not known yet"
    when = timezone.localtime(earlier.upload.at)
    day = f"{when.day} {when:%B %Y}, {when:%H:%M}"
    return (
        f"These are the same bytes as {earlier.name}, uploaded on {day} {whose}. One capture proves"
        " one kit once: record this test again."
    )
