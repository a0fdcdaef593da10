from random import Random

import pytest

from rentals.planning.seasons import LAWS, play

pytestmark = pytest.mark.any_database


@pytest.mark.parametrize("law", LAWS, ids=lambda law: law.name)
def test_a_season_keeps_what_is_to_come_from_the_desk(law):
    season = play(law, Random(5))
    assert len(season.coming) == len(season.ready) == len(season.back)
    for loan in season.loans:
        assert loan.ended_on is None or loan.ended_on < season.today
    assert all(loan.ended_on is None and not loan.lost for loan in season.coming)
    assert not any(
        ready and not back for ready, back in zip(season.ready, season.back, strict=True)
    )
    assert season.need > season.shelf


def test_weekend_parcels_arrive_on_working_days():
    law = next(law for law in LAWS if "weekend" in law.name)
    days = [
        loan.ended_on.weekday()
        for loan in play(law, Random(2)).loans
        if loan.ended_on and not loan.lost and not loan.abroad
    ]
    assert max(days) <= 4


def test_the_same_seed_plays_the_same_season():
    assert play(LAWS[0], Random(1)) == play(LAWS[0], Random(1))
