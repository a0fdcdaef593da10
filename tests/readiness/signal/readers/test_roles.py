"""Which column is what, by label and unit."""

from __future__ import annotations

import pytest

from readiness.signal.errors import CaptureRefused
from readiness.signal.readers.raw_table import RawColumn
from readiness.signal.readers.roles import guess_roles, is_known_label, only_emg
from readiness.signal.readers.units import split_label


def columns(*labels: str) -> list[RawColumn]:
    return [RawColumn(label, *split_label(label)) for label in labels]


@pytest.mark.parametrize(
    ("labels", "roles"),
    [
        (("t_s", "emg", "battery_v"), ("time", "emg", "battery")),
        (("time", "sEMG left (uV)", "vbat (mV)"), ("time", "emg", "battery")),
        (("system time (ms)", "myo"), ("time", "emg")),
        (("ms since start (ms)", "emg"), ("time", "emg")),
        (("emg", "since start (ms)"), ("emg", "other")),
        (("battery", "emg"), ("other", "emg")),
        (("time", "left (uV)", "right (uV)", "b"), ("time", "emg", "emg", "other")),
        (("time", "ch 1", "ch 2", "marker"), ("time", "emg", "emg", "other")),
        (("time", "1", "2"), ("time", "emg", "emg")),
        (("time", "squeeze"), ("time", "emg")),
        (("temperature (degC)", "grip (N)"), ("other", "other")),
        (("emg (MV)", "x"), ("emg", "other")),
        (("emg (degC)", "x (uV)"), ("other", "emg")),
    ],
)
def test_labels_and_units_give_the_roles(labels, roles):
    assert guess_roles(columns(*labels)) == roles


def test_of_several_emg_labels_the_one_in_volts_is_taken():
    both = columns("emg raw counts", "emg (uV)")
    assert only_emg(both, guess_roles(both)) == 1


def test_many_candidates_are_named_up_to_eight():
    many = columns(*(f"emg {number}" for number in range(11)))
    with pytest.raises(CaptureRefused, match="'emg 7' and 3 more") as caught:
        only_emg(many, guess_roles(many))
    assert caught.value.missing == "column"


def test_without_a_candidate_all_that_are_left_are_named():
    none = columns("t_s", "grip (N)", "temp (degC)")
    with pytest.raises(CaptureRefused, match=r"No channel .*'grip \(N\)', 'temp \(degC\)'"):
        only_emg(none, guess_roles(none))


@pytest.mark.parametrize("label", ["t_s", "Time", "time (ms)", "EMG 1", "battery_v", "vbat"])
def test_known_labels(label):
    assert is_known_label(label)


@pytest.mark.parametrize("label", ["x", "err", "marker", "overflow", "1"])
def test_other_labels_are_unknown(label):
    assert not is_known_label(label)
