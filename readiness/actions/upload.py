"""Taking in a drop of capture files: each is kept byte for byte, or turned away with a sentence.

From a file to a verdict, in the order in which it happens:

1. ``readiness.actions.lay_down.laid_drop`` weighs and stores the bytes; then `keep_drop` here
   writes all rows of the drop in one short transaction.
2. ``readiness.actions.scoring_tasks.score_later`` queues them, some files a task.
3. ``readiness.actions.claim_capture.claim`` gives these to one worker, for two minutes at most.
4. ``readiness.actions.score.score_some`` reads each with ``readiness.judgement.opened_apart``.
5. ``readiness.selectors.owners.owner_of`` says whose it is and which test; what is not said is
   asked, and ``readiness.actions.answer`` takes the answer and queues it again.
6. ``readiness.selectors.limit_book.LimitBook`` gives the limits of that kit.
7. ``readiness.judgement.judging.judge`` measures and judges: the engine in ``readiness.signal``.
8. ``readiness.actions.keep_scores.keep_scores`` makes the results of one kit's captures their
   current verdicts.
9. ``readiness.actions.conclude.conclude`` combines the verdicts of the kit's round into one.
10. ``rentals.actions.bench_word`` clears the kit, or refuses it with the finding's sentence.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from django.core.files.base import File
from django.db import IntegrityError
from django.utils import timezone

from readiness.models import Capture, TurnedAway, Upload
from rentals import transaction
from rentals.actions.record import Actor
from rentals.errors import Refused
from rentals.models import Kit

from .lay_down import DroppedFile, laid_drop
from .partners import JOINED_ENDING
from .same_as import same_bytes_sentence
from .scoring_tasks import score_later

GONE = "The capture with these bytes is here no more. Drop the file again."


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


def store_upload(
    files: Iterable[File],
    *,
    actor: Actor = None,
    at: datetime | None = None,
    kit: Kit | None = None,
    test: str = "",
    dropped_for: RoundOfDrop | None = None,
) -> Upload:
    """Lay the files of one drop down and keep them, for callers outside of any transaction. Raises
    what `laid_drop` and `keep_drop` raise.
    """
    with laid_drop(files) as drop:
        return keep_drop(drop, actor=actor, at=at, kit=kit, test=test, dropped_for=dropped_for)


@transaction.atomic
def keep_drop(
    drop: Sequence[DroppedFile],
    *,
    actor: Actor = None,
    at: datetime | None = None,
    kit: Kit | None = None,
    test: str = "",
    dropped_for: RoundOfDrop | None = None,
) -> Upload:
    """Keep the files of one drop, whose bytes are stored, and start their scoring in the
    background.

    Parameters
    ----------
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
    if not drop:
        raise Refused("Choose at least one capture file.", field="files")
    upload = Upload.objects.create(at=at or timezone.now(), by=actor)
    named = _kits_named(drop)
    sent_with = _sent_with(kit, test)
    captures = []
    for file in drop:
        if file.laid is not None:
            declared = dropped_for.declared(file.sent_as) if dropped_for else sent_with
            captures.append(_new_capture(upload, file, file.laid.name, named, kit, declared))
    kept = _saved(captures)
    for file in drop:
        if file.laid is not None and file.digest in kept:
            file.laid.named()
    _turn_away(upload, [file for file in drop if file.laid is None or file.digest not in kept])
    # Only when all rows are there: scoring the first must not begin amid keeping the last.
    kit_by_kit = sorted(kept.values(), key=lambda capture: (capture.kit_id or 0, capture.pk))
    score_later(capture.pk for capture in kit_by_kit)
    return upload


def _sent_with(kit: Kit | None, test: str) -> dict[str, str]:
    """What is kept with each file of a drop, for those that do not say it themselves."""
    facts = {"page_kit": kit.code if kit else "", "page_test": test}
    return {name: fact for name, fact in facts.items() if fact}


def _kits_named(drop: Sequence[DroppedFile]) -> dict[str, Kit]:
    """The kits that the files' names say, by code."""
    codes = {file.said.kit for file in drop if file.laid}
    return {kit.code: kit for kit in Kit.objects.filter(code__in=codes - {None})}


def _new_capture(
    upload: Upload,
    file: DroppedFile,
    stored_as: str,
    named: Mapping[str, Kit],
    page_kit: Kit | None,
    declared: dict[str, str],
) -> Capture:
    """An unsaved capture, with the kit and the test its name says; what the file itself says is
    read when it is scored.
    """
    return Capture(
        upload=upload,
        name=file.name,
        size=file.size,
        sha256=file.digest,
        file=stored_as,
        kit=named.get(file.said.kit) if file.said.kit else page_kit,
        test=file.said.test or "",
        declared=declared,
        taken=upload.at,
    )


def _captures_with(digests: Iterable[str]) -> dict[str, Capture]:
    """The captures whose bytes have these digests, by digest."""
    found = Capture.objects.filter(sha256__in=set(digests)).select_related("kit", "upload")
    return {capture.sha256: capture for capture in found}


def _saved(captures: list[Capture]) -> dict[str, Capture]:
    """The captures, saved, by digest; without those whose bytes another drop has kept since they
    were looked for.
    """
    while captures:
        try:
            with transaction.atomic():
                Capture.objects.bulk_create(captures)
            break
        except IntegrityError:
            known = _captures_with(capture.sha256 for capture in captures)
            if not known:
                raise
            captures = [capture for capture in captures if capture.sha256 not in known]
    return {capture.sha256: capture for capture in captures}


def _turn_away(upload: Upload, files: Sequence[DroppedFile]) -> None:
    """Say of each file why it is not kept."""
    earlier = _captures_with(file.digest for file in files if file.digest)
    turned_away = []
    for file in files:
        same = earlier.get(file.digest)
        sentence = file.away or (same_bytes_sentence(same) if same else GONE)
        row = TurnedAway(upload=upload, name=file.name, sentence=sentence, same_as=same)
        turned_away.append(row)
    TurnedAway.objects.bulk_create(turned_away)
