"""A heart recorded by others, offered as a test on the bar: a body must never pass for a shorted
input.

Source: MIT-BIH Arrhythmia Database, record 208, first 100 s of the piece that SciPy carried as
``scipy.misc.electrocardiogram`` up to version 1.9: 360 samples a second, 11 bits over 10 mV (5 uV a
code, zero 1024), many early beats and pauses. Moody GB, Mark RG, IEEE Eng. Med. Biol. 20 (2001)
45-50; physionet.org, open data under the Open Data Commons Attribution License 1.0.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from readiness.signal.capture import Channel, Recording
from readiness.signal.kit import kit_verdict
from readiness.signal.result import Result
from readiness.signal.score import score_capture

RATE_HZ = 360.0
STEP_UV = 5.0
CODES = (
    np.load(Path(__file__).parent / "data" / "heart_record_208.npz")["codes"].astype(float) - 1024
)
PIECES = CODES.reshape(10, 3600)


def offered(piece: np.ndarray, test: str, share: float) -> Result:
    """Ten seconds of the recording, ``share`` as large as on the chest, as a capture of
    ``test``.
    """
    step = STEP_UV * share
    emg = Channel("emg", "emg", "uV", RATE_HZ, piece * step, step, (-1024 * step, 1023 * step))
    return score_capture(
        Recording("heart.csv", (emg,), emg, RATE_HZ, test=test, battery_v=np.array([2.9])),
    )


@pytest.mark.parametrize("share", [1.0, 0.1, 0.02])
@pytest.mark.parametrize("test", ["still", "flex", "lift", "ground"])
def test_a_heart_is_never_fit_for_a_bar(test: str, share: float) -> None:
    verdicts = [offered(piece, test, share).verdict for piece in PIECES]
    assert "fit" not in verdicts
    # What a body does is no fault of the kit; one piece in ten, with a long pause in it, is not
    # known for a heart.
    assert verdicts.count("not fit") <= 1


def test_nearly_all_of_it_is_told_for_what_it_is() -> None:
    codes = [{found.code for found in offered(piece, "still", 1.0).findings} for piece in PIECES]
    assert sum("worn_not_shorted" in each for each in codes) >= 9


def test_no_kit_is_cleared_on_a_heart() -> None:
    for piece in PIECES:
        results = {test: offered(piece, test, 0.1) for test in ("still", "flex", "lift")}
        assert kit_verdict(results).verdict != "fit"
