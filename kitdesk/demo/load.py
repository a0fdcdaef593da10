"""The demo's story, told by the real actions at the times they would have happened, scored by the real engine."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Protocol

from django.conf import settings
from django.contrib.auth.models import AbstractUser
from django.core.files.base import ContentFile
from django.db import transaction
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from kitdesk.demo import house, scenario
from kitdesk.demo.captures import TESTS, Wanted, make_all
from kitdesk.owner import demo_owner
from readiness.actions.score import score_one
from readiness.actions.upload import store_upload
from readiness.models import Capture
from readiness.signal.simulate import Fault
from rentals.actions.dispatch import dispatch
from rentals.actions.issue import assign, hold, unassign
from rentals.actions.pack import draw_up, pack, tick
from rentals.actions.receive import arrive, finish_check, note_line, write_off
from rentals.actions.settle import charge, chase, settle
from rentals.models import Enrolment, Kit, Loan, Part, ReturnLine
from rentals.verify import verify

KITS = 24
INTERMITTENT, NOISY = 8, 9
"""Positions of the two kits with a known fault: a lead that opens when bent, an amplifier that hisses."""


class Out(Protocol):
    """Where the story is told."""

    def write(self, msg: str) -> object: ...


class Story:
    """Holds the clock and the people while the story is told."""

    def __init__(self, out: Out) -> None:
        self.out = out
        self.owner: AbstractUser = demo_owner()
        self.today = timezone.localdate()
        self.wanted: list[Wanted] = []

    def at(self, days: int, hour: float = 10.0) -> datetime:
        """A moment so many days from today, local time."""
        midnight = timezone.make_aware(datetime.combine(self.today + timedelta(days=days), datetime.min.time()))
        return midnight + timedelta(hours=hour)

    def say(self, words: str) -> None:
        """One line for whoever waits."""
        self.out.write(words)


def load_demo(out: Out) -> None:
    """Load the whole demo into an empty desk. The same every time but for the dates, which count from today."""
    story = Story(out)
    story.say("Making capture files on simulated benches ...")
    kits_codes = _codes()
    rounds = _rounds(story, kits_codes)
    files = dict(zip([w.name for w in story.wanted], make_all(story.wanted), strict=True))
    with transaction.atomic():
        _tell(story, rounds, files)
    # The captures are scored already, in the order of the story: nothing waits for the workers.
    DBTaskResult.objects.all().delete()
    faults = verify()
    if faults:
        raise RuntimeError("The demo's history does not fit: " + " ".join(faults[:3]))
    _say_what_there_is(story)
