"""Keeping what a scoring said of a capture: one current verdict, the earlier ones behind it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.utils import timezone

from readiness.judgement.judging import limits_dict, measured
from readiness.models import Capture, Verdict
from readiness.signal.limits import METHOD_VERSION, Limits
from rentals.actions.tell_webhooks import tell_all


def keep_verdicts(
    results: Sequence[tuple[Capture, dict[str, Any], Limits]], *, at: datetime | None = None
) -> None:
    """Make each result the current verdict of its locked capture, by the limits beside it; the one
    before stays in its history.

    The same result under the same limits is not written twice.
    """
    at = at or timezone.now()
    keys = [capture.pk for capture, _, _ in results]
    before = {v.capture_id: v for v in Verdict.objects.filter(current=True, capture__in=keys)}
    new, replaced = [], []
    for capture, result, limits in results:
        stored_limits = limits_dict(limits)
        earlier = before.get(capture.pk)
        if earlier is None:
            why = "first scoring"
        elif earlier.result == result and earlier.limits == stored_limits:
            continue
        else:
            why = "scored again"
            replaced.append(earlier.pk)
        new.append(new_verdict(capture, result, stored_limits, why=why, at=at))
    if replaced:
        Verdict.objects.filter(pk__in=replaced).update(current=False)
    Verdict.objects.bulk_create(new)
    tell_all("capture.scored", [_told(verdict) for verdict in new], at=at)


def _told(verdict: Verdict) -> dict[str, Any]:
    capture = verdict.capture
    kit = capture.kit.code if capture.kit else None
    return {"capture": capture.pk, "kit": kit, "test": capture.test, "verdict": verdict.verdict}


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
