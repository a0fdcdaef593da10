"""Heads of the log that were told."""

from datetime import timedelta
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from rentals.seals.chain import head_of_log
from rentals.seals.heads import holds_heads, tell_head, told_heads
from rentals.verify import verify
from tests.factories import StockItemFactory

pytestmark = pytest.mark.django_db


def test_the_head_is_told_once_a_day_and_held_against_the_log(settings):
    StockItemFactory()
    now, first = timezone.now(), head_of_log()
    tell_head(now)
    StockItemFactory()
    tell_head(now)
    assert told_heads() == {first.number: first.mac}
    tell_head(now + timedelta(days=1))
    assert len(told_heads()) == 2 and holds_heads(told_heads())
    file = Path(settings.KITDESK_LOG_HEADS)
    assert file.stat().st_mode & 0o077 == 0
    assert verify() == []
    file.write_text(f"2026-01-01 {first.number}:abc\n")
    assert not holds_heads(told_heads())
    assert verify() == [
        f"The log was written anew: line {first.number} is not the one that was told."
    ]


def test_what_is_no_head_is_said(settings):
    with pytest.raises(CommandError, match="'12' is no head of the log"):
        call_command("verify", head=["12"])
