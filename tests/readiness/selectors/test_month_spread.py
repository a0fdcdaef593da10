"""Quartiles of a month, found by the database, against NumPy's."""

from datetime import UTC, date, datetime

import numpy as np
import pytest

from readiness.models import Verdict
from readiness.selectors.month_spread import month_spreads
from rentals.actions.register import register_kit
from tests.factories import KitTypeFactory

from .measured import measured

pytestmark = pytest.mark.django_db
NOISE = {
    1: [0.61, 0.58, 0.92, 0.55, 0.70, 0.66, 0.61],
    2: [0.83],
    3: [0.7, 0.9],
    4: [0.5, 0.4, 0.8, 0.6, 0.7, 1.2, 1.0, 0.9, 1.1],
}


def test_each_month_has_its_quartiles():
    kit = register_kit(KitTypeFactory())
    for month, values in NOISE.items():
        for number, value in enumerate(values, 1):
            measured(kit, datetime(2026, month, number, 9, tzinfo=UTC), noise_uv=value)
    measured(kit, datetime(2026, 1, 25, tzinfo=UTC), noise_uv=None)
    spreads = month_spreads(Verdict.objects.all(), "noise_uv")
    assert [spread.month for spread in spreads] == [date(2026, month, 1) for month in NOISE]
    for spread, values in zip(spreads, NOISE.values(), strict=True):
        # Definition 1 of Hyndman and Fan, as NumPy writes it.
        quartiles = np.quantile(values, (0.25, 0.5, 0.75), method="inverted_cdf")
        assert (spread.low, spread.middle, spread.high) == tuple(quartiles)
        assert spread.number == len(values)
    assert spreads[0].between == "0.58 to 0.70"
