"""The shortcut of the factories writes what the real acts write."""

from datetime import timedelta

import pytest
from django.apps import apps
from django.db import connection, transaction
from django.db.models import Model
from django.forms import model_to_dict
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from rentals import transaction as acts
from rentals.actions.dispatch import dispatch
from rentals.actions.register import fit_part, register_kit
from rentals.models import Event, Kit, Loan, LogLine, Practice, TableMark
from rentals.verify import verify
from tests import replayed
from tests.factories import (
    CourseRunFactory,
    KitTypeFactory,
    StudentFactory,
    UserFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
    spare,
)

pytestmark = pytest.mark.django_db

OF_EACH_KIT = {"id", "code", "last_hash"}


def row(kit: Kit) -> dict[str, object]:
    kit.refresh_from_db()
    return {name: value for name, value in model_to_dict(kit).items() if name not in OF_EACH_KIT}


def history(kit: Kit) -> list[tuple[str, str]]:
    """Verbs and texts without codes and serials, which differ from kit to kit."""
    names = [kit.code, *kit.parts.values_list("code", flat=True)]
    names += kit.parts.values_list("serial", flat=True)
    lines = []
    for event in kit.events.order_by("number"):
        text = event.text
        for name in names:
            text = text.replace(name, "_")
        lines.append((event.verb, text))
    return lines


def test_a_complete_kit_is_as_if_each_part_had_been_fitted():
    kit_type = KitTypeFactory()
    quick = complete_kit(kit_type, cleared=False)
    kit = register_kit(kit_type)
    for line in kit_type.lines.filter(tracked_by="serial"):
        fit_part(kit, spare(line.part_kind))
    assert row(quick) == row(kit)
    assert history(quick) == history(kit)
    places = {part.place for part in quick.parts.all()}
    assert places == {part.place for part in kit.parts.all()} == {"fitted"}


def test_a_packed_loan_stands_the_check_of_all_histories():
    packed_loan()
    assert verify() == []


FEW = 40
"""Queries that putting rows back stays under; the acts take more than twice as many."""


def taken_back(make):
    """What `make` gives, after which the database is as before."""
    with transaction.atomic():
        made = make()
        transaction.set_rollback(True)
    return made


def queries_of(make) -> int:
    with CaptureQueriesContext(connection) as queries:
        make()
    return len(queries)


def rows_of(model: type[Model]) -> list[tuple]:
    return list(model.objects.order_by("pk").values_list())


def all_rows() -> dict[str, list[tuple]]:
    """Every row of what a packed loan is, but the log's own."""
    return {model._meta.label: rows_of(model) for model in replayed.WRITTEN}


def test_the_second_time_the_same_rows_are_put_back_and_the_log_knows_them():
    first = taken_back(lambda: (packed_loan(), all_rows(), LogLine.objects.count()))
    loan = None

    def again():
        nonlocal loan
        loan = packed_loan()

    assert queries_of(again) < FEW
    assert (loan, all_rows(), LogLine.objects.count()) == first
    assert Loan.objects.get() == loan
    assert loan.kit.code == Kit.objects.get().code
    assert verify() == []
    dispatch(loan.kit)
    assert verify() == []


@pytest.mark.parametrize("make", [packed_loan, assigned_loan, complete_kit])
def test_more_of_them_in_one_test_are_rows_of_their_own(make, monkeypatch):
    # What another test left must not grow too old between the two rounds.
    monkeypatch.setattr(replayed, "FRESH", timedelta(days=1))

    def three():
        return {make().pk for _ in range(3)}

    assert len(taken_back(three)) == 3
    assert queries_of(three) < 3 * FEW
    spare("charger")
    assert len({make().pk, make().pk}) == 2
    assert Kit.objects.values("code").distinct().count() == 5
    assert verify() == []


def test_a_kit_that_was_asked_to_be_uncleared_is_none_of_the_others():
    taken_back(lambda: (complete_kit(), complete_kit(cleared=False)))
    assert (complete_kit().cleared, complete_kit(cleared=False).cleared) == (True, False)


def _by_practice(settings, monkeypatch):
    Practice.objects.create(pk=1, name="Bow and Balance")


def _by_setting(settings, monkeypatch):
    settings.SITE_URL = "https://other.example"


def _by_clock(settings, monkeypatch):
    later = timezone.now() + timedelta(hours=3)
    monkeypatch.setattr(timezone, "now", lambda: later)


@pytest.mark.parametrize("changed", [_by_practice, _by_setting, _by_clock])
def test_where_the_acts_might_write_something_else_they_are_done(settings, monkeypatch, changed):
    taken_back(packed_loan)
    changed(settings, monkeypatch)
    assert queries_of(packed_loan) > 2 * FEW


def test_inside_another_act_they_are_done():
    taken_back(packed_loan)
    with acts.atomic():
        assert queries_of(packed_loan) > 2 * FEW
    assert verify() == []


def test_rows_that_are_no_longer_of_now_are_not_put_back(monkeypatch):
    monkeypatch.setattr(replayed, "FRESH", timedelta(0))
    taken_back(packed_loan)
    began = timezone.now()
    packed_loan()
    assert not Event.objects.filter(at__lt=began).exists()


OF_THE_LOG = {"rentals_logline", "rentals_loghead"}
ASKED_FOR_OWN_ROWS = {
    "rentals_earmark",
    "rentals_removedline",
    "rentals_replacement",
    "rentals_returnline",
    "rentals_returnstep",
    "rentals_shortfall",
}
"""Tables of which the acts ask for rows of the kit, loan or kit type that is just being made."""


def test_what_the_acts_write_and_ask_is_known(monkeypatch):
    """Else it would lack in what is put back, or rows be put back that another test would not get:
    a new table is decided above, or in the lists of `tests/replayed.py`.
    """
    packed_loan()
    # The marks of tables are the database's own.
    tables = {row._meta.db_table: row for row in apps.get_models() if row is not TableMark}
    written = {model._meta.db_table for model in replayed.WRITTEN}
    read = {model._meta.db_table for model in replayed.READ}
    before = {name: rows_of(model) for name, model in tables.items()}
    monkeypatch.setattr(replayed, "FRESH", timedelta(0))
    with CaptureQueriesContext(connection) as queries:
        packed_loan()
        complete_kit(cleared=False)
    for name, model in tables.items():
        after = rows_of(model)
        if name not in OF_THE_LOG:
            assert after[: len(before[name])] == before[name], f"changed rows of {name}"
        if name not in written | OF_THE_LOG:
            assert len(after) == len(before[name]), f"new rows of {name}"
    text = " ".join(query["sql"] for query in queries)
    asked = {name for name in tables if f'"{name}"' in text}
    assert asked - written - OF_THE_LOG - ASKED_FOR_OWN_ROWS == read


def test_whatever_a_test_looks_for_is_not_the_beginning_of_another_row():
    sizes = (1, 9, 10, 18, 100, 1000)
    for made, field in (
        (StudentFactory, "name"),
        (StudentFactory, "email"),
        (CourseRunFactory, "name"),
        (KitTypeFactory, "name"),
        (UserFactory, "username"),
    ):
        sequence = getattr(made, field)
        words = [sequence.function(number) for number in sizes]
        assert not [(a, b) for a in words for b in words if a != b and b.startswith(a)], field
