"""Scored captures with chosen values, without files: a report reads rows only."""

from __future__ import annotations

from datetime import datetime

from readiness.judgement.judging import limits_dict
from readiness.models import Capture, Upload, Verdict
from readiness.signal.bench_tests.findings import FINDING_KINDS
from readiness.signal.limits import Limits
from rentals.models import Kit


def measured(
    kit: Kit,
    taken: datetime,
    *findings: str,
    noise_uv: float | None = 0.6,
    battery_v: float | None = 2.8,
    set_aside: str = "",
    limits: Limits = Limits(),  # noqa: B008 - frozen
) -> Verdict:
    """A capture of the test `still` with its verdict: the worst that its findings usually say."""
    number = Capture.objects.count()
    upload, _ = Upload.objects.get_or_create(pk=1, defaults={"at": taken})
    capture = Capture.objects.create(
        upload=upload,
        name=f"still {number}.csv",
        size=1,
        sha256=f"{number:064d}",
        kit=kit,
        test="still",
        taken=taken,
        status=Capture.Status.SCORED,
        set_aside=set_aside,
    )
    rows = [
        {"code": code, "lead": None, "verdict": FINDING_KINDS[code].usual_verdict}
        for code in findings
    ]
    worst = rows[0]["verdict"] if rows else "fit"
    return Verdict.objects.create(
        capture=capture,
        at=taken,
        method_version="1",
        verdict=worst,
        noise_uv=noise_uv,
        battery_v=battery_v,
        limits=limits_dict(limits),
        result={"findings": rows},
    )
