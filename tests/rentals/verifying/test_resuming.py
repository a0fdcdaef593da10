"""A check goes on from what was found clean; what acts wrote since is looked at again."""

import io

import pytest
from django.core.management import CommandError, call_command

from rentals.actions.issue import note
from rentals.models import Kit, LogLine
from rentals.seals.tables import sealed_tables
from rentals.verifying.jobs import all_jobs
from rentals.verifying.resuming import CleanParts
from tests.factories import complete_kit

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]


@pytest.fixture(autouse=True)
def _state_of_its_own(settings, tmp_path):
    settings.KITDESK_LOG_HEADS = tmp_path / "log.heads"


def _verify(*options):
    out = io.StringIO()
    call_command("verify", *options, stdout=out)
    return out.getvalue()


def _kinds():
    parts = CleanParts(resume=True)
    return {(job.kind, job.table) for job in parts.remaining(all_jobs())}


def test_what_was_clean_is_left_out_until_something_is_written_to_it():
    kit = complete_kit()
    _verify()
    always = {("chains", ""), ("lines", ""), ("key", ""), ("people", ""), ("end", "")}
    always |= {("files", table.name) for table in sealed_tables() if table.file}
    assert _kinds() == always
    note(kit, "It rattles.")
    written = {("kits", ""), ("rows", "rentals.kit"), ("rows", "rentals.event")}
    assert _kinds() == always | written
    assert "parts of" in _verify("--resume")


def test_a_state_that_somebody_wrote_by_hand_counts_for_nothing(tmp_path):
    kit = complete_kit()
    Kit.objects.filter(pk=kit.pk).update(state="shelf", note="changed")
    with pytest.raises(CommandError):
        _verify()
    state = tmp_path / "verified.json"
    assert "rows rentals.kit " not in state.read_text()
    state.write_text(state.read_text().replace("rows rentals.lead ", "rows rentals.kit "))
    assert ("rows", "rentals.lead") in _kinds()


def test_a_row_changed_by_hand_is_found_by_a_full_check_only():
    kit = complete_kit()
    _verify()
    Kit.objects.filter(pk=kit.pk).update(note="changed")
    assert "All in order" in _verify("--resume")
    with pytest.raises(CommandError):
        _verify()


def test_a_log_cut_behind_the_state_is_checked_as_a_whole():
    complete_kit()
    _verify()
    LogLine.objects.order_by("-position").first().delete()
    assert ("rows", "rentals.kit") in _kinds()
