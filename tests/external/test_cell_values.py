"""What is taken for known of cells against IEC 61951-2 (rows B4 and B8, both from memory): a NiMH
cell keeps 60 % over 28 days at 20 degrees, and 60 % of its capacity after 500 cycles.
"""

from datetime import date, timedelta

import pytest

from rentals.planning.cells import KINDS, CellPack, Practising, outlook

pytestmark = pytest.mark.any_database

NIMH = KINDS["nimh"]
START = date(2027, 3, 1)


def test_the_cautious_nimh_cell_loses_by_itself_what_the_standard_allows():
    left = (1 - NIMH.monthly_loss.cautious) ** (28 / 30.44)
    assert 0.6 <= left <= 0.65


def test_the_likely_nimh_cell_ages_as_the_standard_allows():
    assert 1 - 500 * NIMH.fade.likely == pytest.approx(0.6)


def test_rated_capacity_is_what_a_fifth_of_it_drains_in_five_hours():
    """B4: 800 mAh at 160 mA; sessions of five hours on one day, a fresh pack, nothing left over."""
    a_day = Practising(160, 7, 300, START, START + timedelta(days=30))
    lasts = outlook(CellPack("nimh", 800), a_day, START).lasts
    assert a_day.a_day == pytest.approx(800)
    assert lasts.hopeful <= 1
