"""Ground: the second post proves the ground in a quiet room, and never passes an open one."""

from __future__ import annotations

import pytest

from readiness.signal.kit import kit_verdict
from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import Fault
from readiness.signal.simulator.hand import Hand
from tests.readiness.signal.made import codes, model_capture, results


def test_the_second_post_finds_an_intermittent_ground():
    ground = score_capture(
        model_capture("ground", Fault("intermittent_lead", 0.1, "ground", count=3), seed=4)
    )
    assert ("intermittent_lead", "ground") in codes(ground)


@pytest.mark.parametrize(("share_na", "verdict"), [(0.002, "fit"), (3.0, "retest")])
def test_the_second_post_proves_the_ground_only_where_the_room_is_quiet(share_na, verdict):
    """Nanoamperes through 100 kohm are hundreds of microvolts: as much as an open ground gives
    elsewhere.
    """
    result = score_capture(
        model_capture("ground", seed=4, lead_na=share_na, body_na=2.0, loop_uv=0.01)
    )
    assert result.verdict == verdict
    assert result.proven == (("ground",) if verdict == "fit" else ())
    assert codes(result) == (set() if verdict == "fit" else {("lead_unproven", "ground")})
    # What the second post leaves open is settled where the lift shows the ground.
    plan = ("still", "flex", "lift", "ground")
    assert kit_verdict({**results(), "ground": result}, plan).verdict == "fit"


@pytest.mark.parametrize("seed", range(4))
def test_an_open_ground_is_not_passed_by_the_second_post(seed):
    result = score_capture(
        model_capture("ground", Fault("open_lead", float("inf"), "ground"), seed=seed)
    )
    assert result.verdict != "fit"


def test_an_open_ground_that_hums_little_because_the_hand_is_quiet_is_not_proven():
    quiet = Hand(mains_v=0.1, bar_pf=8.0, lead_pf=0.2)
    room = {"hand": quiet, "lead_na": 0.002, "loop_uv": 0.01}
    result = score_capture(
        model_capture("ground", Fault("open_lead", float("inf"), "ground"), seed=4, **room)
    )
    assert result.proven == ()
    (note,) = (item for item in result.findings if item.code == "lead_unproven")
    assert "beside a mains cable" in note.action
    assert score_capture(model_capture("ground", seed=4, **room)).proven == ("ground",)
