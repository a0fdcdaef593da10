"""Earlier captures that hold the same samples as a new one, whatever their files look like."""

from __future__ import annotations

import logging
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TypeAlias

from django.utils import timezone

from readiness.models import Capture, CaptureMark
from readiness.signal.many_marks import begins_later
from readiness.signal.mark_table import MarkTable
from readiness.signal.sample_marks import SampleMark, is_whole, may_share

from .rounds import round_since

LOOKED_BACK = 2000
"""Captures, newest first: a year of a desk that tests six hundred kits."""
Status = Capture.Status
log = logging.getLogger(__name__)
#: An earlier capture with the same samples, and by how many seconds the later one begins after it.
Twin: TypeAlias = tuple[Capture, float]


@dataclass(frozen=True)
class _Seen:
    capture: int
    mark: bytes
    kit: int | None
    test: str
    taken: datetime


class SeenSamples:
    """The marks of the newest captures, read once for a batch of new ones; those of the batch are
    noted as they come.

    Captures that are set aside or not readable prove nothing, so what they hold may be offered
    again.
    """

    def __init__(self) -> None:
        self._newest, self._kept = _marks_after(0)
        marks = [seen.mark for seen in self._kept]
        self._table = MarkTable(marks, [seen.kit for seen in self._kept])
        self._noted: list[_Seen] = []
        self._since: list[_Seen] = []

    def note(self, capture: Capture, mark: SampleMark | None) -> None:
        """Remember a capture whose kit, test and time are known, though it is not kept yet."""
        if mark is not None:
            facts = (capture.kit_id, capture.test, capture.taken)
            self._noted.append(_Seen(capture.pk, mark.to_bytes(), *facts))

    def twin(self, capture: Capture, mark: SampleMark) -> Twin | None:
        """The capture whose samples are offered again with `capture`, and by how many seconds this
        one begins later; ``None`` where the recording is new.

        The same test of the same kit in the same round is the same recording in another form, and
        may be.
        """
        noted = [seen for seen in reversed(self._noted) if may_share(mark, seen.mark)]
        kept = [self._kept[place] for place in self._table.sharing(mark)]
        return _first_twin(capture, mark, [*noted, *kept])

    def twins_since(self, marks: Sequence[tuple[Capture, SampleMark | None]]) -> dict[int, Twin]:
        """The same for captures that were looked at before, among what others have kept since; by
        the key of each that has one.
        """
        noted = {seen.capture for seen in self._noted}
        self._newest, kept = _marks_after(self._newest)
        self._since += [seen for seen in kept if seen.capture not in noted]
        found = {}
        for capture, mark in marks:
            if not mark:
                continue
            since = [seen for seen in self._since if may_share(mark, seen.mark)]
            if twin := _first_twin(capture, mark, since):
                found[capture.pk] = twin
        return found


def _first_twin(capture: Capture, mark: SampleMark, sharing: Iterable[_Seen]) -> Twin | None:
    """Of captures that share words with `mark`, given newest first; kit, test and time of `capture`
    are known.
    """
    others = [earlier for earlier in sharing if earlier.capture != capture.pk]
    lags_s = begins_later(mark, [earlier.mark for earlier in others])
    for earlier, later_s in zip(others, lags_s, strict=True):
        if later_s is not None and not _is_another_form(capture, earlier):
            captures = Capture.objects.select_related("kit", "upload")
            return captures.get(pk=earlier.capture), later_s
    return None


def _is_another_form(capture: Capture, earlier: _Seen) -> bool:
    if (capture.kit_id, capture.test) != (earlier.kit, earlier.test):
        return False
    assert capture.kit is not None
    since = round_since(capture.kit).at
    # Of one that is dated ahead nobody can say by its day that it is of this round.
    return since is None or since <= earlier.taken <= timezone.now()


def _marks_after(newest: int) -> tuple[int, list[_Seen]]:
    """What was kept after the mark of that number, the newest capture first, and the number of the
    newest mark now.
    """
    marks = CaptureMark.objects.filter(pk__gt=newest, capture__set_aside="")
    marks = marks.exclude(capture__status__in=[Status.ASKING, Status.UNREADABLE])
    facts = ("capture__kit_id", "capture__test", "capture__taken")
    rows = marks.order_by("-capture_id").values_list("pk", "capture_id", "mark", *facts)
    kept = list(rows[:LOOKED_BACK])
    numbers = [number for number, *_ in kept]
    seen = [_Seen(capture, bytes(mark), *others) for _, capture, mark, *others in kept]
    return max([newest, *numbers]), _readable(seen)


def _readable(marks: Sequence[_Seen]) -> list[_Seen]:
    """Damaged marks are left out: a stored row must not keep all that comes from being scored."""
    whole = [seen for seen in marks if is_whole(seen.mark)]
    if len(whole) < len(marks):
        newest = next(seen.capture for seen in marks if not is_whole(seen.mark))
        log.error(
            "Damaged marks: %s, the newest of capture %s. Scoring a capture again mends its own.",
            len(marks) - len(whole),
            newest,
        )
    return whole
