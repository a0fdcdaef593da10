"""The demo's story on a fresh desk: every state, two known faults found by the real engine, and all
of it true.
"""

import io
from collections import Counter

import pytest
import time_machine
from django.utils import timezone

from kitdesk.demo.load import INTERMITTENT, KITS, NOISY, TO_TRY, WEAK_PACK, load_demo
from kitdesk.watching.ground import clock
from readiness.models import Capture, Verdict
from rentals.models import (
    CourseRun,
    FaultReport,
    GuideVisit,
    Kit,
    Loan,
    Message,
    Shortfall,
    Student,
)
from rentals.verify import verify

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.slow,
    pytest.mark.any_database,
]


def test_the_demo_holds_every_state_and_finds_its_two_faults(settings, tmp_path):
    settings.VAR = tmp_path
    out = io.StringIO()
    # Early, when much of that day's story is still to come.
    early = timezone.localtime().replace(hour=2, minute=0)
    with time_machine.travel(early):
        load_demo(out)
        assert clock(timezone.now()).sentence == "The clock goes on from the newest event."
    kits = list(Kit.objects.order_by("pk"))
    assert len(kits) == KITS
    assert {kit.state for kit in kits} == {
        "shelf",
        "assigned",
        "packed",
        "away",
        "check",
        "bench",
        "held",
        "retired",
    }
    assert {loan.stage for loan in Loan.objects.all()} == {
        "assigned",
        "packed",
        "away",
        "check",
        "returned",
        "settled",
        "lost",
        "cancelled",
    }
    assert CourseRun.objects.count() == 3
    assert Student.objects.count() == 35
    assert set(Shortfall.objects.values_list("state", flat=True)) >= {"open", "chased", "charged"}
    assert kits[INTERMITTENT - 1].not_cleared_reason.startswith("Intermittent lead B")
    assert "noise" in kits[NOISY - 1].not_cleared_reason
    assert kits[WEAK_PACK - 1].score_battery < 95
    bad = {
        v.capture.kit_id
        for v in (
            Verdict.objects.filter(current=True).exclude(verdict="fit").select_related("capture")
        )
    }
    assert bad == {kits[number - 1].pk for number in (INTERMITTENT, NOISY, WEAK_PACK)}
    assert Counter(Capture.objects.values_list("status", flat=True)).keys() == {"scored"}
    assert len(list((tmp_path / "try").iterdir())) == sum(len(sitting.tests) for sitting in TO_TRY)
    drafts = Message.objects.filter(state="draft")
    assert Counter(drafts.values_list("occasion", flat=True)) == {
        "packing_list": 2,
        "shortfall": 1,
        "overdue": 2,
    }
    assert set(Message.objects.values_list("state", flat=True)) == {"draft", "sent", "discarded"}
    assert set(GuideVisit.objects.values_list("outcome", flat=True)) == {"solved", "reported"}
    assert len(FaultReport.objects.get().tried) == 6
    assert verify() == []
    assert f"{KITS} kits, 35 students" in out.getvalue()
