"""What is next with a part."""

from __future__ import annotations

from rentals.next_acts import PART_ACTS
from rentals.states import PartPlace


def test_a_part_in_a_kit_is_changed_there_and_a_spare_is_fitted_from_there():
    fitted, spare = PART_ACTS[PartPlace.FITTED], PART_ACTS[PartPlace.SPARE]
    assert fitted.here is not None
    assert (fitted.here.route, fitted.there.route) == ("rentals:kit", "rentals:kit")
    assert spare.here is None
    assert "from the page of a kit" in spare.reason


def test_a_part_that_is_nowhere_is_moved():
    moved = {place for place, act in PART_ACTS.items() if act.here and act.here.act == "Move it"}
    assert moved == set(PartPlace) - {PartPlace.FITTED, PartPlace.SPARE, PartPlace.SENT}
    assert "comes back with their kit" in PART_ACTS[PartPlace.SENT].reason
