"""Capture files: the drop they came in, the bytes as they came, and what is still to be known of
each.
"""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from readiness.signal.catalogue import CATALOGUE
from readiness.states import CaptureStatus
from rentals.addresses import page_address
from rentals.models import Kit, Part
from rentals.models.leases import Leased
from rentals.noted import NotedManager


def test_choices() -> list[tuple[str, str]]:
    """The bench tests by name, asked anew each time: another test is no change of the table."""
    return [(name, name) for name in CATALOGUE]


def own_name(capture: Capture, _filename: str) -> str:
    """What the name begins with under which the bytes are kept: their own digest, never a name from
    outside.
    """
    return f"captures/{capture.sha256[:2]}/{capture.sha256}"


class Upload(models.Model):
    """One drop of files."""

    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["-at", "-id"])]

    def __str__(self) -> str:
        return f"Upload {self.pk}"

    def get_absolute_url(self) -> str:
        return page_address("readiness:batch", self.pk)


class Capture(Leased):
    """One capture file, kept byte for byte, and how far its scoring has come."""

    Status = CaptureStatus

    upload = models.ForeignKey(Upload, on_delete=models.PROTECT, related_name="captures")
    name = models.CharField(max_length=255, help_text="As the file was called when it came.")
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    file = models.FileField(upload_to=own_name, max_length=120)
    kit = models.ForeignKey(
        Kit, on_delete=models.PROTECT, null=True, blank=True, related_name="captures"
    )
    test = models.CharField(max_length=20, choices=test_choices, blank=True)
    declared = models.JSONField(
        default=dict, help_text="What the operator said for a file that does not say it."
    )
    taken = models.DateTimeField(help_text="From the file where it says so, else when it came.")
    taken_known = models.BooleanField(default=False)
    status = models.CharField(max_length=10, choices=Status.choices, default=Status.WAITING)
    refusal = models.CharField(max_length=600, blank=True)
    missing = models.CharField(max_length=10, blank=True)
    set_aside = models.CharField(
        max_length=300, blank=True, help_text="Why it does not count, in the owner's words."
    )
    amplifier = models.ForeignKey(
        Part, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    lead_set = models.ForeignKey(
        Part, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    battery_pack = models.ForeignKey(
        Part, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    objects = NotedManager()

    class Meta:
        ordering = ["-taken", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["sha256"], name="capture_bytes_once"),
            models.CheckConstraint(condition=Q(size__gt=0), name="capture_is_not_empty"),
            models.CheckConstraint(
                condition=~Q(status=CaptureStatus.SCORED) | (Q(kit__isnull=False) & ~Q(test="")),
                name="capture_scored_for_a_kit_and_a_test",
            ),
            models.CheckConstraint(
                condition=~Q(status__in=[CaptureStatus.ASKING, CaptureStatus.UNREADABLE])
                | ~Q(refusal=""),
                name="capture_refused_in_words",
            ),
            models.CheckConstraint(
                condition=~Q(status=CaptureStatus.SCORING) | Q(claimed_at__isnull=False),
                name="capture_scoring_is_claimed",
            ),
        ]
        indexes = [
            models.Index(fields=["kit", "test", "-taken"]),
            models.Index(fields=["status", "claimed_at"]),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return page_address("readiness:capture", self.pk)

    @property
    def settled(self) -> bool:
        """Whether nothing is going on with it in the background."""
        return self.status not in (self.Status.WAITING, self.Status.SCORING)


class TurnedAway(models.Model):
    """A file of a drop that was not kept, with the sentence that says why."""

    upload = models.ForeignKey(Upload, on_delete=models.CASCADE, related_name="turned_away")
    name = models.CharField(max_length=255)
    sentence = models.CharField(max_length=600)
    same_as = models.ForeignKey(
        Capture, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.name
