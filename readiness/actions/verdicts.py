"""Keeping what a scoring said of a capture: one current verdict, the earlier ones behind it."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.utils import timezone

from readiness.judgement.judging import limits_dict, measured
from readiness.models import Capture, Verdict
from readiness.signal.limits import METHOD_VERSION, Limits
from rentals.actions.tell_webhooks import tell


def keep_verdict(
    capture: Capture, result: dict[str, Any], limits: Limits, *, at: datetime | None = None
) -> Verdict:
    """Make a result the current verdict of a locked capture; the one before stays in its history.

    The same result under the same limits is not written twice.
    """
    stored_limits = limits_dict(limits)
    before = capture.verdicts.filter(current=True).first()
    if before is None:
        why = "first scoring"
    elif before.result == result and before.limits == stored_limits:
        return before
    else:
        why = "scored again"
        before.current = False
        before.save(update_fields=["current"])
    verdict = new_verdict(capture, result, stored_limits, why=why, at=at or timezone.now())
    verdict.save()
    if capture.kit is not None:
        facts = {"capture": capture.pk, "kit": capture.kit.code, "test": capture.test}
        tell("capture.scored", facts | {"verdict": verdict.verdict}, at=verdict.at)
    return verdict


def new_verdict(
    capture: Capture, result: dict[str, Any], limits: dict[str, Any], *, why: str, at: datetime
) -> Verdict:
    """An unsaved current verdict of a capture, from a stored result and the limits it was judged
    by.
    """
    scores = result["scores"]
    return Verdict(
        capture=capture,
        at=at,
        why=why,
        method_version=METHOD_VERSION,
        limits=limits,
        verdict=result["verdict"],
        continuity=scores["continuity"],
        noise=scores["noise"],
        battery=scores["battery"],
        noise_uv=measured(result, "noise_full_band"),
        battery_v=measured(result, "battery_end"),
        result=result,
    )
