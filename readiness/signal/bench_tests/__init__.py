"""The bench tests: each takes a view of a capture and says what it shows, and what it cannot
show.
"""

from __future__ import annotations

from readiness.signal.bench_tests.view import Judged, View

from . import flex, ground, lift, still, worn

JUDGES = {
    "still": still.judge,
    "flex": flex.judge,
    "lift": lift.judge,
    "ground": ground.judge,
    "worn": worn.judge,
}


def judge(view: View) -> Judged:
    """Judge a capture by the test it was made for."""
    return JUDGES[view.test](view)
