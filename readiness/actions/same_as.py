"""Sentences for a file that holds what another one brought already."""

from __future__ import annotations

from django.utils import timezone

from readiness.models import Capture
from readiness.signal.samples_seen import shift_in_words
from rentals.codes import grouped
from rentals.dates import short_moment

ONE_PROOF = "One capture proves one kit once: record this test again."


def same_bytes_sentence(earlier: Capture) -> str:
    """Why a file whose bytes are here already is not kept again, naming the first."""
    return f"These are the same bytes as {_named(earlier)}. {ONE_PROOF}"


def same_samples_sentence(earlier: Capture, later_s: float) -> str:
    """Why a file whose samples stand in an earlier capture is not scored, naming that one."""
    shift = shift_in_words(later_s)
    test = f" ({earlier.test})" if earlier.test else ""
    return (
        f"This is another file, but its samples are those of {_named(earlier)}{test}{shift}."
        f" {ONE_PROOF}"
    )


def _named(earlier: Capture) -> str:
    kit = f"for kit {grouped(earlier.kit.code)}" if earlier.kit else "whose kit is not known yet"
    day = short_moment(timezone.localtime(earlier.upload.at))
    return f"{earlier.name}, uploaded on {day} {kit}"
