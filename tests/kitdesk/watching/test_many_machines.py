"""A desk on several machines: what each tells of its health, its owner and its log."""

import os
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from django.core.management import call_command
from django.urls import reverse
from django.utils import timezone

from kitdesk import lasting_worker
from kitdesk.backups import daily
from kitdesk.backups.copies_away import CopiesStanding
from kitdesk.backups.standing import standing_here
from kitdesk.backups.told import tell_standing
from kitdesk.watching import keeping, weekly
from rentals.models import Verification
from rentals.seals.chain import head_of_log
from rentals.verify import verify
from tests.factories import complete_kit

pytestmark = pytest.mark.django_db
A_DAY = 86400


def _machine(settings, folder: Path | None) -> None:
    """From here on this is the machine with these backups."""
    settings.KITDESK_BACKUPS = folder


def _backup(folder: Path, age_s: float) -> None:
    folder.mkdir(exist_ok=True)
    then = time.time() - age_s
    day = timezone.localdate(timezone.now() - timedelta(seconds=age_s))
    file = folder / f"kitdesk-{day.isoformat()}.zip"
    file.write_bytes(b"backup")
    os.utime(file, (then, then))


@pytest.mark.postgres
@pytest.mark.parametrize("own", [None, "empty", "older"])
def test_a_machine_without_the_backups_says_what_the_one_with_the_clock_told(
    signed_in, settings, tmp_path, own
):
    _backup(tmp_path / "clock", 3600)
    _machine(settings, tmp_path / "clock")
    daily.note_check("kitdesk-x.zip", "")
    tell_standing()
    told = standing_here()
    if own == "older":
        _backup(tmp_path / own, 3 * A_DAY)
    _machine(settings, own and tmp_path / own)
    assert keeping.backup(timezone.now()).sentence == "The newest backup is 60 minutes old."
    stands = daily.standing()
    assert not stands.is_here and (stands.kept, stands.check) == (told.kept, told.check)
    page = signed_in.get(reverse("backups")).content.decode()
    assert "on the machine with the clock" in page and told.last.path.name in page
    assert reverse("backup_now") not in page


@pytest.mark.postgres
def test_a_machine_without_the_backups_warns_of_those_that_are_late_or_fail(
    signed_in, settings, tmp_path, monkeypatch
):
    _backup(tmp_path, 3 * A_DAY)
    _machine(settings, tmp_path)
    copies = CopiesStanding("bucket", "x.zip", timezone.now(), "The store is away.")
    monkeypatch.setattr("kitdesk.backups.standing.copies_standing", lambda folder: copies)
    tell_standing()
    _machine(settings, None)
    assert keeping.backup(timezone.now()).condition == "warning"
    assert "No backup was made for 3 days." in signed_in.get("/").content.decode()
    assert daily.standing().copies == copies
    _machine(settings, tmp_path)
    daily.note_check("kitdesk-y.zip", "It is torn.", timezone.now())
    tell_standing()
    _machine(settings, None)
    assert "could not be put back" in keeping.backup(timezone.now()).sentence


@pytest.mark.postgres
def test_a_desk_that_makes_none_any_more_warns_of_none(settings, tmp_path):
    _backup(tmp_path, 3 * A_DAY)
    _machine(settings, tmp_path)
    tell_standing()
    _machine(settings, None)
    assert daily.standing() is not None
    tell_standing()
    assert daily.standing() is None
    assert keeping.backup(timezone.now()).condition == "ok"


def test_the_minute_tells_how_the_backups_stand(settings, tmp_path, monkeypatch):
    told = []
    monkeypatch.setattr("kitdesk.management.commands.tick.tell_standing", lambda: told.append(1))
    call_command("tick", verbosity=0)
    assert told


def test_a_clock_that_has_gone_is_said_though_another_worker_lives(signed_in, monkeypatch):
    lasting_worker.beat("1")
    assert "by the clock" not in signed_in.get("/").content.decode()
    call_command("tick", verbosity=0)
    assert "by the clock" not in signed_in.get("/").content.decode()
    later = time.time() + 3 * 3600
    monkeypatch.setattr(lasting_worker.time, "time", lambda: later)
    monkeypatch.setattr(timezone, "now", lambda: datetime.fromtimestamp(later, UTC))
    lasting_worker.beat("1")
    page = signed_in.get(reverse("watching")).content.decode()
    assert "A worker is at work. But nothing was done by the clock for 3 hours." in page


def test_a_worker_elsewhere_holds_the_log_against_what_the_clocks_machine_told(
    settings, tmp_path, monkeypatch
):
    """Lines cut off the end leave a log that is whole in itself; only who heard of them knows."""
    complete_kit()
    head = head_of_log()
    settings.KITDESK_LOG_HEADS = tmp_path / "clock.heads"
    settings.KITDESK_LOG_HEADS.write_text(f"2027-03-10 {head.number + 3}:{head.mac}\n")

    def elsewhere(heads: dict[int, str], **_: object) -> list[str]:
        settings.KITDESK_LOG_HEADS = tmp_path / "worker.heads"
        return verify(heads)

    monkeypatch.setattr(weekly, "verify", elsewhere)
    lasting_worker.beat("1")
    weekly.verify_weekly()
    assert Verification.objects.latest("pk").faults > 0
