"""What is kept of the samples of a capture, to know them again in another file."""

from __future__ import annotations

from django.db import models

from .captures import Capture


class CaptureMark(models.Model):
    """The mark of a scored capture's samples (``readiness.signal.sample_marks``)."""

    capture = models.OneToOneField(Capture, on_delete=models.CASCADE, related_name="mark")
    mark = models.BinaryField()

    def __str__(self) -> str:
        return f"Mark of {self.capture}"
