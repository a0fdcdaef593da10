"""What was found before finds were tasks is nobody's task now."""

from importlib import import_module

import pytest
from django.apps import apps

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive, finish_check
from rentals.actions.return_scan import note_found
from rentals.models import FoundPart
from tests.factories import packed_loan
from tests.rentals.actions.acts import all_back

MIGRATION = import_module("rentals.migrations.0010_found_parts_are_tasks")


@pytest.mark.django_db
def test_finds_of_finished_checks_are_put_away_and_those_at_work_are_not():
    old, new = (arrive(dispatch(packed_loan().kit).kit) for _ in range(2))
    for check in (old, new):
        note_found(check, "a rosin cake")
    all_back(old)
    finish_check(old)
    MIGRATION.put_old_finds_away(apps, None)
    states = dict(FoundPart.objects.values_list("check_of", "state"))
    assert states == {old.pk: "aside", new.pk: "open"}
