"""Errands: work that takes too long for a page, done in the background by a worker."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.urls import reverse

from rentals.marks import Mark, mark_of
from rentals.states import DONE_ERRANDS, OPEN_ERRANDS, ErrandState

from .leases import Leased


class ErrandKind(models.TextChoices):
    """What is done in the background."""

    RUN_PAPERS = "run_papers", "papers of a run"
    VERIFY = "verify", "a check of the log"
    ROSTER = "roster", "an import of students"
    FLEET = "fleet", "kits and parts from a table"
    RESCORE = "rescore", "captures scored again"
    EXPORT = "export", "a list as a file"
    LABELS = "labels", "labels"


_NO_FILE = "No file was kept."
_WHEN_CANCELLED = {
    ErrandKind.RUN_PAPERS: _NO_FILE,
    ErrandKind.VERIFY: "Of what was checked by then nothing is noted.",
    ErrandKind.ROSTER: "Nobody of it was saved; the roster stands in its preview as before.",
    ErrandKind.FLEET: (
        "{done} of {total} rows were looked at by then; what was registered stays, kit by kit. Send"
        " the same table again for the rest: what is there already is left alone."
    ),
    ErrandKind.RESCORE: (
        "{done} of {total} captures were scored by then and keep what came of it. Start it again"
        " for the rest."
    ),
    ErrandKind.EXPORT: _NO_FILE,
    ErrandKind.LABELS: _NO_FILE,
}
_BROKEN_OFF = "Nothing is half done. Start it again."
#: Of work whose parts count by themselves.
_WHEN_BROKEN_OFF = {
    ErrandKind.FLEET: (
        "What was registered by then stays, kit by kit. Send the same table again for the rest:"
        " what is there already is left alone."
    ),
    ErrandKind.RESCORE: (
        "The captures that were scored by then keep what came of it. Start it again for the rest."
    ),
}
_NAMED_AS = {
    ErrandKind.ROSTER: "Rows left out",
    ErrandKind.FLEET: "Rows that were not registered",
    ErrandKind.RESCORE: "Kits with another verdict",
}


class Errand(Leased):
    """One piece of long work: what it is, how far it has come, and what came of it.

    `about` is the page that it was asked for on. Its result is for those who may open the page
    `seen_by`. `named` are sentences that name what was found. `goes_to` is the page to see what
    came of it; before it is done, the one to go back to.
    """

    kind = models.CharField(max_length=12, choices=ErrandKind.choices)
    title = models.CharField(max_length=200)
    facts = models.JSONField(default=dict, help_text="What it is to be done with.")
    about = models.CharField(max_length=200)
    seen_by = models.CharField(max_length=200)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    asked_at = models.DateTimeField()
    began_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    state = models.CharField(max_length=9, choices=ErrandState.choices, default=ErrandState.WAITING)
    stopping = models.BooleanField(default=False, help_text="Somebody has cancelled it.")
    done = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(default=0)
    at_hand = models.CharField(max_length=100, blank=True, help_text="What is being counted.")
    problem = models.CharField(max_length=500, blank=True)
    said = models.CharField(max_length=500, blank=True, help_text="What came of it, in words.")
    named = models.JSONField(default=list)
    goes_to = models.CharField(max_length=200, blank=True, help_text="The page to see it on.")
    file_name = models.CharField(max_length=120, blank=True)
    content_type = models.CharField(max_length=100, blank=True)

    class Meta:
        ordering: ClassVar = ["-pk"]
        indexes: ClassVar = [
            models.Index(fields=["asked_by", "-id"]),
            models.Index(fields=["about", "-id"]),
            models.Index(fields=["state"]),
        ]

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("rentals:errand", args=[self.pk])

    @property
    def mark(self) -> Mark:
        """How its state is shown."""
        return mark_of(ErrandState(self.state))

    @property
    def when_cancelled(self) -> str:
        """What is kept of one that was cancelled; empty for all others, and where its worker died:
        its problem says it then.
        """
        if self.state != ErrandState.CANCELLED or self.problem:
            return ""
        if not self.total:
            return "It was cancelled before it had begun."
        said = _WHEN_CANCELLED[ErrandKind(self.kind)]
        return f"It was cancelled. {said.format(done=self.done, total=self.total)}"

    @property
    def when_broken_off(self) -> str:
        """What is so if it fails in the middle, and what to do then."""
        return _WHEN_BROKEN_OFF.get(ErrandKind(self.kind), _BROKEN_OFF)

    @property
    def named_as(self) -> str:
        """What stands above the sentences that name what came of it."""
        return _NAMED_AS.get(ErrandKind(self.kind), "What was found")

    @property
    def is_done(self) -> bool:
        """Whether it was done to its end, whatever it found."""
        return self.state in DONE_ERRANDS

    @property
    def is_open(self) -> bool:
        """Whether it has not come to its end."""
        return self.state in OPEN_ERRANDS


class ErrandPiece(models.Model):
    """A piece of the file that an errand has made: in pieces, so that none is ever whole in
    memory, and in the database, so that it is there for every machine and goes with its row.
    """

    errand = models.ForeignKey(Errand, on_delete=models.CASCADE, related_name="pieces")
    number = models.PositiveIntegerField()
    content = models.BinaryField()

    class Meta:
        ordering: ClassVar = ["number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["errand", "number"], name="one_piece_of_each_number")
        ]

    def __str__(self) -> str:
        return f"piece {self.number} of errand {self.errand_id}"
