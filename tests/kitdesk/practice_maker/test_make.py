"""A practice, played by real acts and multiplied: true, at its ratios, in every state, the same for
the same seed.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.db.models import Count

from kitdesk.owner import demo_owner
from kitdesk.practice_maker import copy_numbers, make
from kitdesk.practice_maker.clock import PracticeDays
from kitdesk.practice_maker.furniture import Furniture
from kitdesk.practice_maker.make import (
    make_practice,
    played_kits,
    played_practice,
    write_copies,
)
from kitdesk.practice_maker.played import Played
from kitdesk.practice_maker.story import Story
from kitdesk.practice_maker.tables import copied_tables
from readiness.actions.score import score_one
from readiness.actions.upload import store_upload
from readiness.models import BenchTest, Capture, CaptureMark
from readiness.signal.sample_marks import is_whole
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
    LogLine,
    Message,
    PackingLine,
    Part,
    ReturnLine,
    Shortfall,
    StockItem,
)
from rentals.verify import verify
from tests.hour import most
from tests.readiness.captures import capture_bytes, capture_file

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


@pytest.fixture
def files(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "files"
    # Nothing is scored but at its day: a task that ran at once would score it today.
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}
    return tmp_path / "files"


def test_a_practice_is_true_at_its_ratios_and_in_every_state(files, monkeypatch):
    monkeypatch.setattr(copy_numbers, "LOANS_OF_A_RUN", 30)
    furniture = Furniture(PracticeDays(), 15, 1, 3)
    played = played_practice(furniture, 15, 1, seed=3)
    assert not Kit.objects.exists() and not Capture.objects.exists()
    first, again, *others = (_rows_of(played, files, 1, seed) for seed in (3, 3, 4)[: most(2, 3)])
    assert first == again and first not in others

    monkeypatch.setattr(make, "played_practice", lambda *_: played)
    monkeypatch.setattr(make, "Furniture", lambda *_: furniture)
    make_practice(kits=45, loans=1, seed=3)
    assert verify() == []
    connection.check_constraints()
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
    _assert_a_capture_is_scored()


def _assert_a_capture_is_scored():
    """What comes is held against the captures of the practice."""
    kit = Kit.objects.filter(state=states.KitState.SHELF).latest("pk")
    data = capture_bytes("still", kit=kit.code, seed=77)
    capture = store_upload([capture_file("still.csv", data)]).captures.get()
    assert score_one(capture.pk) == "scored"
    marks = [bytes(mark) for mark in CaptureMark.objects.values_list("mark", flat=True)]
    assert len(set(marks)) == len(marks) > 3 and all(is_whole(mark) for mark in marks)


@pytest.mark.night
@pytest.mark.any_database
def test_a_longer_past_is_true_and_the_same_seed_plays_it_alike(files):
    furniture = Furniture(PracticeDays(), 15, 5, 2)
    one, other = (played_practice(furniture, 15, 5, seed=3) for _ in range(2))
    assert _rows_of(one, files, 5, 3) == _rows_of(other, files, 5, 3)
    write_copies(one, Story(one.chapters, 15, 5), 2, 3)
    assert verify() == []
    connection.check_constraints()
    of_a_kit = BenchTest.objects.values("kit").annotate(many=Count("pk"))
    assert set(of_a_kit.values_list("many", flat=True)) >= {1, 2}
    assert BenchTest.objects.filter(current=True).count() == of_a_kit.count()


def _rows_of(played: Played, files: Path, loans: int, seed: int) -> dict[str, list[object]]:
    """All rows of two copies, which are taken back again."""
    with transaction.atomic():
        write_copies(played, Story(played.chapters, 15, loans), 2, seed)
        tables = [*copied_tables(), LogLine]
        found = {
            table._meta.label: list(table._base_manager.order_by("pk").values_list())
            for table in tables
        }
        transaction.set_rollback(True)
    shutil.rmtree(files)
    return found


def test_as_many_kits_are_played_as_copies_make_up_the_number_from():
    assert played_kits(5000) == 20
    assert played_kits(45) == 15
    assert played_kits(7) == 15


def test_a_desk_in_use_is_left_alone():
    demo_owner()
    with pytest.raises(CommandError, match="This desk is in use"):
        call_command("practice", "--kits", "1")
    assert not Kit.objects.exists()
