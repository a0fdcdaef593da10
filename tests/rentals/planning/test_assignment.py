"""Which free kit is proposed to which student."""

from datetime import datetime, timedelta

from django.utils import timezone

from rentals.planning.assignment import FreeKit, in_order, propose


def test_cleared_kits_come_first_then_the_longest_rest() -> None:
    day = datetime(2026, 5, 1, tzinfo=timezone.get_current_timezone())
    kits = [
        FreeKit("K3", False, day - timedelta(days=90)),
        FreeKit("K2", True, day),
        FreeKit("K1", True, day - timedelta(days=30)),
        FreeKit("K9", True, None),
        FreeKit("K8", True, None),
    ]
    assert [kit.code for kit in in_order(kits)] == ["K8", "K9", "K1", "K2", "K3"]
    proposals = propose([7, 8, 9, 10, 11, 12], kits)
    assert [p.kit.code if p.kit else None for p in proposals] == [
        "K8",
        "K9",
        "K1",
        "K2",
        "K3",
        None,
    ]
