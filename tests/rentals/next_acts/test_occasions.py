"""Which mail makes sense in which stage of a loan."""

from rentals.models import Message
from rentals.next_acts.occasions import MAIL_STAGES, fits_occasion
from rentals.states import LoanStage


def test_every_occasion_has_its_stages_and_none_is_written_before_packing():
    assert set(MAIL_STAGES) == set(Message.Occasion.values)
    for occasion in MAIL_STAGES:
        assert not fits_occasion(occasion, LoanStage.ASSIGNED)
    assert fits_occasion("packing_list", LoanStage.PACKED)
    assert not fits_occasion("statement", LoanStage.AWAY)
