"""A practice of 45 kits, played by real acts and multiplied: true, at its ratios, in every
state.
"""

import pytest
from django.core.management import CommandError, call_command

from kitdesk.owner import demo_owner
from kitdesk.practice_maker import copy_numbers
from kitdesk.practice_maker.copy_numbers import CopyNumbers
from kitdesk.practice_maker.make import make_practice, played_kits
from kitdesk.practice_maker.played import Played
from readiness.models import Capture
from rentals import states
from rentals.models import (
    ArrivalLine,
    CourseRun,
    Event,
    FaultReport,
    FoundPart,
    GuideVisit,
    Kit,
    Loan,
    LoanStep,
    Message,
    PackingLine,
    Part,
    ReturnLine,
    Shortfall,
    StockItem,
    Student,
)
from rentals.verify import verify

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

#: Where each kind of state of `rentals/states.py` is on file.
PLACES = {
    (Kit, "state"): states.KitState,
    (Loan, "stage"): states.LoanStage,
    (Part, "place"): states.PartPlace,
    (Part, "ended_as"): states.PartEnd,
    (LoanStep, "kind"): states.StepKind,
    (ReturnLine, "outcome"): states.ReturnOutcome,
    (Shortfall, "kind"): states.ShortfallKind,
    (Shortfall, "state"): states.ShortfallState,
    (FoundPart, "state"): states.FoundState,
    (GuideVisit, "outcome"): states.GuideOutcome,
    (FaultReport, "state"): states.FaultState,
    (Message, "state"): states.MessageState,
}


def test_a_practice_is_true_at_its_ratios_and_in_every_state(settings, tmp_path, monkeypatch):
    settings.MEDIA_ROOT = tmp_path
    monkeypatch.setattr(copy_numbers, "LOANS_OF_A_RUN", 30)
    make_practice(kits=45, loans=1, seed=3)

    assert verify() == []
    for (table, column), kind in PLACES.items():
        found = set(table.objects.values_list(column, flat=True))
        assert set(kind.values) <= found, f"{table.__name__} {column}"
    assert ArrivalLine.objects.filter(missing__gt=0).exists()
    assert ArrivalLine.objects.filter(damaged__gt=0).exists()
    loans = Loan.objects.count()
    # A single run also has all that its kits began with, and half of the sittings of later ones.
    for table, of_a_loan in ((Event, 19), (PackingLine, 12), (Message, 1.97), (Capture, 0.2)):
        assert 0.7 < table.objects.count() / loans / of_a_loan < 1.6, table.__name__
    assert Kit.objects.count() == 45 and CourseRun.objects.count() == 2
    assert all(item.on_hand >= 0 for item in StockItem.objects.all())
    _assert_the_seed_says_who_they_are()


def _assert_the_seed_says_who_they_are():
    """The same words for one seed, others for another: what is played comes of the seed alone."""
    played = Played()
    words = CopyNumbers(played, 2, seed=3).words
    names = [words[name] for (name,) in played.rows_of(Student, "name")[:15]]
    assert names == list(Student.objects.order_by("pk").values_list("name", flat=True)[30:45])
    assert CopyNumbers(played, 2, seed=4).words != words


def test_as_many_kits_are_played_as_copies_make_up_the_number_from():
    assert played_kits(5000) == 20
    assert played_kits(45) == 15
    assert played_kits(7) == 15


def test_a_desk_in_use_is_left_alone():
    demo_owner()
    with pytest.raises(CommandError, match="This desk is in use"):
        call_command("practice", "--kits", "1")
    assert not Kit.objects.exists()
