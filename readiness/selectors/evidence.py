"""The plots of one capture."""

from __future__ import annotations

from readiness.models import Capture, Verdict


def plots_of(capture: Capture, verdict: Verdict) -> tuple[str, str]:
    return "", ""
