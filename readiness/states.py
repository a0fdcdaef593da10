"""Every state of the bench: the word on file and the words on screen. Needs no settings and no
database.
"""

from __future__ import annotations

from django.db.models import TextChoices

from readiness.signal.statistics import decision


class CaptureStatus(TextChoices):
    """How far the scoring of a capture has come."""

    WAITING = "waiting", "waiting"
    SCORING = "scoring", "being scored"
    ASKING = "asking", "a fact is missing"
    UNREADABLE = "unreadable", "not readable"
    SCORED = "scored", "scored"


class VerdictWord(TextChoices):
    """What the bench says of a capture, a test or a kit; the words are the measurement's own."""

    FIT = decision.FIT, decision.FIT
    RETEST = decision.RETEST, decision.RETEST
    NOT_FIT = decision.NOT_FIT, decision.NOT_FIT


class BenchDayState(TextChoices):
    """What the check kit says of the bench on one day."""

    UNTESTED = "untested", "not tested yet"
    LEARNING = "learning", "learning"
    IN_CONTROL = "in_control", "in control"
    SUSPECT = "suspect", "suspect"
