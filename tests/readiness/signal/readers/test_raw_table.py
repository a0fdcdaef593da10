"""A file as it is: its numbers are read when they are first asked for, and once."""

import numpy as np

from readiness.signal.readers.raw_table import RawColumn, RawTable, Readings


def table(**facts: object) -> RawTable:
    columns = (RawColumn("emg (uV)", "emg", "uV"), RawColumn("t", "t", ""))
    return RawTable(**{"format": "text", "columns": columns, "words": {}, "load": list, **facts})


def test_numbers_are_loaded_once_and_only_when_asked_for():
    loaded = []

    def load() -> Readings:
        loaded.append(1)
        return Readings((np.zeros(3), np.zeros(3)))

    opened = table(load=load)
    assert opened.signature and not loaded
    assert opened.readings is opened.readings
    assert loaded == [1]
    assert len(opened.readings.gaps.at_s) == 0


def test_files_of_one_layout_have_one_signature():
    assert table().signature == table(words={"kit": "KD-1"}).signature
    assert table().signature != table(has_names=False).signature
    assert not table().has_own_rates
    own = (RawColumn("EMG", "EMG", "uV", rate_hz=500.0),)
    assert table(columns=own).has_own_rates
