"""An earlier capture that holds the same samples as a new one, whatever its file looks like."""

from __future__ import annotations

from django.db.models import Q
from django.utils import timezone

from readiness.models import Capture, CaptureMark
from readiness.signal.sample_marks import SampleMark, mark_from, may_share, same_samples
from rentals.models import Kit

from .rounds import round_since

LOOKED_BACK = 2000
"""Captures, newest first: a year of a desk that tests six hundred kits."""
Status = Capture.Status


def same_recording(
    capture: Capture, kit: Kit, test: str, mark: SampleMark
) -> tuple[Capture, float] | None:
    """The capture whose samples are offered again with `capture`, and by how many seconds this one
    begins later; ``None`` where the recording is new.

    The same test of the same kit in the same round is the same recording in another form, and may
    be. Captures that are set aside or not readable prove nothing, so what they hold may be offered
    again.
    """
    for pk, stored in _stored_marks(capture, kit, test):
        if may_share(mark, stored):
            later_s = same_samples(mark, mark_from(stored))
            if later_s is not None:
                earlier = Capture.objects.select_related("kit", "upload").get(pk=pk)
                return earlier, later_s
    return None


def _stored_marks(capture: Capture, kit: Kit, test: str) -> list[tuple[int, bytes]]:
    since = round_since(kit)
    same_test = Q(capture__kit=kit, capture__test=test)
    if since.at:
        # Of one that is dated ahead nobody can say by its day that it is of this round.
        same_test &= Q(capture__taken__gte=since.at, capture__taken__lte=timezone.now())
    marks = CaptureMark.objects.filter(capture__set_aside="")
    marks = marks.exclude(capture__status__in=[Status.ASKING, Status.UNREADABLE])
    marks = marks.exclude(capture=capture).exclude(same_test).order_by("-capture_id")
    rows = marks.values_list("capture_id", "mark")[:LOOKED_BACK]
    return [(pk, bytes(stored)) for pk, stored in rows]
