"""Taking in a drop of capture files: each is kept byte for byte, or turned away with a sentence.

From a file to a verdict, in the order in which it happens:

1. `store_upload` here takes the drop; `_take_in` weighs each file, `_keep` stores row and bytes.
2. ``readiness.actions.scoring_tasks.score_later`` queues one task for each kept file.
3. ``readiness.actions.claim_capture.claim`` gives it to one worker, for two minutes at most.
4. ``readiness.actions.score.score_one`` reads it with ``readiness.judgement.opened_apart``.
5. ``readiness.selectors.owners.owner_of`` says whose it is and which test; what is not said is
   asked, and ``readiness.actions.answer`` takes the answer and queues it again.
6. ``readiness.selectors.limits.limits_for`` gives the limits of that kit.
7. ``readiness.judgement.judging.judge`` measures and judges: the engine in ``readiness.signal``.
8. ``readiness.actions.verdicts.keep_verdict`` makes the result its current verdict.
9. ``readiness.actions.conclude.conclude`` combines the verdicts of the kit's round into one.
10. ``rentals.actions.issue`` clears the kit, or refuses it with the finding's sentence.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from typing import Any

from django.conf import settings
from django.core.files.base import File
from django.db import IntegrityError
from django.utils import timezone

from readiness.intake.matching import read_name
from readiness.models import Capture, TurnedAway, Upload
from rentals import transaction
from rentals.actions.record import Actor
from rentals.errors import Refused
from rentals.models import Kit

from .partners import JOINED_ENDING, with_partners
from .same_as import same_bytes_sentence
from .scoring_tasks import score_later

PIECE = 1024 * 1024
LONGEST_NAME = 255


@dataclass(frozen=True)
class RoundOfDrop:
    """The guided round that a drop came with.

    ``only`` asks of a file that names another kit whose it is; else it goes there. ``saved_at`` has
    the moments at which the files were saved, by name, where they are known.
    """

    kit: Kit
    only: bool = False
    saved_at: Mapping[str, datetime] = field(default_factory=dict)

    def declared(self, name: str | None) -> dict[str, str]:
        """What is kept with a file of this name."""
        facts = {"round_kit": self.kit.code}
        if self.only:
            facts["only_this_round"] = "yes"
        dropped_as = (name or "").replace(JOINED_ENDING, ".hea")
        if saved_at := self.saved_at.get(name or "") or self.saved_at.get(dropped_as):
            facts["saved_at"] = saved_at.isoformat()
        return facts


@transaction.atomic
def store_upload(
    files: Iterable[File],
    *,
    actor: Actor = None,
    at: datetime | None = None,
    kit: Kit | None = None,
    test: str = "",
    dropped_for: RoundOfDrop | None = None,
) -> Upload:
    """Keep the files of one drop and start their scoring in the background.

    Parameters
    ----------
    files : iterable of django File
        Each with `name` and `size`.
    kit : Kit, optional
        The kit whose page the files were dropped on, for files that do not name one.
    test : str, optional
        The test that whoever sent them named, for files that do not say one.
    dropped_for : RoundOfDrop, optional
        The guided round at hand, to which files that name no kit or no test are proposed.

    Raises
    ------
    Refused
        If there is no file at all. A single file that cannot be kept is turned away; the others are
        kept.
    """
    files = with_partners(files)
    if not files:
        raise Refused("Choose at least one capture file.", field="files")
    upload = Upload.objects.create(at=at or timezone.now(), by=actor)
    sent_with = _sent_with(kit, test)
    taken_in = [_take_in(upload, file, kit, sent_with, dropped_for) for file in files]
    # Only when all files are stored: scoring the first must not begin amid storing the last.
    for capture in taken_in:
        if capture is not None:
            score_later(capture.pk)
    return upload


def _sent_with(kit: Kit | None, test: str) -> dict[str, str]:
    """What is kept with each file of a drop, for those that do not say it themselves."""
    facts = {"page_kit": kit.code if kit else "", "page_test": test}
    return {name: fact for name, fact in facts.items() if fact}


def _take_in(
    upload: Upload,
    file: File,
    page_kit: Kit | None,
    sent_with: dict[str, str],
    dropped_for: RoundOfDrop | None,
) -> Capture | None:
    """The capture made of one file, or None where the file is turned away."""
    name = shown_name(file.name)
    if sentence := wrong_size(file.size):
        TurnedAway.objects.create(upload=upload, name=name, sentence=sentence)
        return None
    capture = _new_capture(upload, name, file, page_kit)
    capture.declared = sent_with
    if dropped_for is not None:
        capture.declared = dropped_for.declared(file.name)
    earlier = _capture_with(capture.sha256) or _keep(capture, file)
    if earlier is None:
        return capture
    sentence = same_bytes_sentence(earlier)
    TurnedAway.objects.create(upload=upload, name=name, sentence=sentence, same_as=earlier)
    return None


def wrong_size(size: int) -> str:
    """Why a file of so many bytes is not taken; empty where it is."""
    most = settings.KITDESK_CAPTURE_MAX_BYTES
    if size == 0:
        return (
            "The file is empty. Save the capture again and drop it once the program has closed it."
        )
    if size > most:
        return (
            f"The file has {size / 2**20:.1f} MiB; at most {most // 2**20} MiB are taken."
            " Save only the ten seconds."
        )
    return ""


def _new_capture(upload: Upload, name: str, file: File, page_kit: Kit | None) -> Capture:
    """An unsaved capture, with the kit and the test its name says; what the file itself says is
    read when it is scored.
    """
    name_facts = read_name(name)
    named_kit = Kit.objects.filter(code=name_facts.kit).first() if name_facts.kit else page_kit
    return Capture(
        upload=upload,
        name=name,
        size=file.size,
        sha256=digest_of(file),
        kit=named_kit,
        test=name_facts.test or "",
        taken=upload.at,
    )


def _capture_with(digest: str) -> Capture | None:
    """The capture whose bytes have this digest, if there is one."""
    return Capture.objects.filter(sha256=digest).select_related("kit", "upload").first()


def _keep(capture: Capture, file: File) -> Capture | None:
    """Save row and bytes; gives the earlier capture where another process kept the same bytes a
    moment ago.
    """
    try:
        with transaction.atomic():
            capture.save()
    except IntegrityError:
        return Capture.objects.select_related("kit", "upload").get(sha256=capture.sha256)
    # One of ours, which can do more than Django asks of a storage.
    storage: Any = capture.file.storage
    name = capture.file.field.generate_filename(capture, capture.name)
    file.seek(0)
    # The name is the digest: what lies there already, if anything, are these bytes or half of them.
    storage.put(name, file)
    # Where no row of this drop stays, none of its files may.
    transaction.on_rollback(partial(storage.delete, name))
    capture.file = name
    capture.save(update_fields=["file"])
    return None


def digest_of(file: File) -> str:
    """SHA-256 of a file's bytes, read in pieces."""
    digest = hashlib.sha256()
    for piece in file.chunks(PIECE):
        digest.update(piece)
    return digest.hexdigest()


def shown_name(name: str | None) -> str:
    """A file's name as it is kept and shown: no folders, nothing that cannot be printed, 255
    characters at most.
    """
    last_part = str(name or "").replace("\\", "/").rpartition("/")[2]
    printable = "".join(char if char.isprintable() else "?" for char in last_part)
    return printable[:LONGEST_NAME] or "without a name"
