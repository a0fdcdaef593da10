"""Taking a file that appeared in a watched folder: kept, scored, and said in a sentence."""

from __future__ import annotations

import hashlib
from datetime import datetime

from django.core.files.base import ContentFile
from django.urls import reverse
from django.utils import timezone

from readiness.intake.folder import SeenFile
from readiness.intake.proposing import CLOCKS_APART
from readiness.models import Capture, GuidedRound
from readiness.selectors.guided import is_silent, round_at_hand
from readiness.signal.readers import join
from readiness.states import CaptureStatus
from rentals.codes import grouped
from rentals.models import Kit

from .lay_down import shown_name, wrong_size
from .partners import JOINED_ENDING
from .same_as import same_bytes_sentence
from .score import score_one
from .upload import RoundOfDrop, store_upload


def take_file(seen: SeenFile) -> str:
    """Keep a whole file and score it; what was done, in a sentence.

    A file that names kit and test goes to that kit; another is proposed to the guided round that
    was open when it was saved. Bytes that are here already are not taken again, so it is safe to
    repeat. The file itself is only read.
    """
    name = shown_name(seen.path.name)
    if sentence := wrong_size(seen.size):
        return f"left. {sentence}"
    try:
        name, data, size = _read(seen, name)
        if size != seen.size or not seen.is_unchanged():
            return "left: it changed while it was read. It is looked at again."
    except OSError as problem:
        return f"left: it cannot be read ({problem.strerror or problem})."
    digest = hashlib.sha256(data).hexdigest()
    earlier = Capture.objects.filter(sha256=digest).select_related("kit", "upload").first()
    if earlier is not None:
        again = f"left. {same_bytes_sentence(earlier)}"
        return "taken before." if earlier.name == name else again
    return _kept(seen, name, data)


def _read(seen: SeenFile, name: str) -> tuple[str, bytes, int]:
    """Name and bytes to keep, a header and its signal file as one, and how many bytes were read."""
    data = seen.path.read_bytes()
    if seen.signal is None:
        return name, data, len(data)
    signal = seen.signal.read_bytes()
    joined = join(seen.path.name, data, seen.signal.name, signal)
    return name.rpartition(".")[0] + JOINED_ENDING, joined, len(data) + len(signal)


def round_of_file(name: str, saved_at: datetime) -> tuple[GuidedRound | None, RoundOfDrop | None]:
    """The guided round that was open when a file was saved, and what the file is taken in with."""
    # A recording machine whose clock is ahead saves in what is the future here.
    guided = round_at_hand(min(saved_at, timezone.now()) + CLOCKS_APART)
    return guided, RoundOfDrop(guided.kit, saved_at={name: saved_at}) if guided else None


def _kept(seen: SeenFile, name: str, data: bytes) -> str:
    guided, dropped_for = round_of_file(name, seen.saved_at)
    actor = guided.begun_by if guided else None
    upload = store_upload([ContentFile(data, name)], actor=actor, dropped_for=dropped_for)
    capture = upload.captures.first()
    if capture is None:
        turned_away = upload.turned_away.first()
        return f"left. {turned_away.sentence if turned_away else ''}".rstrip()
    score_one(capture.pk)
    capture = Capture.objects.select_related("kit").get(pk=capture.pk)
    return _what_became_of(capture, guided.kit if guided else None)


def _what_became_of(capture: Capture, round_kit: Kit | None) -> str:
    match CaptureStatus(capture.status):
        case CaptureStatus.SCORED:
            assert capture.kit is not None
            verdict = capture.verdicts.get(current=True).verdict
            return f"scored for kit {grouped(capture.kit.code)}, {capture.test}: {verdict}."
        case CaptureStatus.UNREADABLE:
            return f"kept, and not readable. {capture.refusal}"
        case CaptureStatus.ASKING:
            return _what_it_asks(capture, round_kit)
    return "kept; it is being scored."


def _what_it_asks(capture: Capture, round_kit: Kit | None) -> str:
    if round_kit is not None and is_silent(capture, round_kit):
        page = reverse("readiness:round", args=[round_kit.code])
        return f"proposed to the round of kit {grouped(round_kit.code)}. Confirm it at {page}"
    return f"kept, and asks on the Bench page. {capture.refusal}"
