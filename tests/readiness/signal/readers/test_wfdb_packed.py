"""Packed whole numbers, packed here bit by bit."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.signal.readers.wfdb_packed import FORMATS, samples_of

pytestmark = pytest.mark.any_database


def packed(form: int, values: list[int]) -> bytes:
    """The bytes of a signal file, by the layout's own words."""
    if form in (61, 160):
        shift = 2**15 if form == 160 else 0
        order = "big" if form == 61 else "little"
        return b"".join(((v + shift) % 65_536).to_bytes(2, order) for v in values)
    words = []
    for a, b, c in zip(*[iter([v % 1024 for v in values])] * 3, strict=True):
        if form == 311:
            words.append((a | b << 10 | c << 20).to_bytes(4, "little"))
        else:
            words.append(((c & 31) << 11 | a << 1).to_bytes(2, "little"))
            words.append(((c >> 5) << 11 | b << 1).to_bytes(2, "little"))
    return b"".join(words)


@pytest.mark.parametrize("form", [61, 160, 310, 311])
@settings(max_examples=50, deadline=None)
@given(triples=st.lists(st.tuples(*[st.integers(-512, 511)] * 3), min_size=1, max_size=9))
def test_every_number_comes_back(form, triples):
    values = [value for triple in triples for value in triple]
    data = packed(form, values)
    kind = FORMATS[form]
    assert kind.samples_in(len(data)) == len(values)
    assert samples_of(data, kind, len(values)).tolist() == values


def test_half_a_pair_at_the_end_is_one_sample():
    kind = FORMATS[212]
    assert kind.samples_in(5) == 3
    assert np.array_equal(samples_of(b"\x01\x20\x03\xff\x0f", kind, 3), [1, 515, -1])
