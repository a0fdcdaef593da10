"""A new table is protected by the log, or somebody says why it is not."""

import pytest

from kitdesk.checks import log_knows_every_table
from rentals.models import Loan
from rentals.seals import tables
from rentals.seals.tables import undecided_tables
from rentals.seals.unprotected import UNPROTECTED

pytestmark = pytest.mark.any_database


def test_every_table_is_protected_or_has_its_reason(monkeypatch):
    assert undecided_tables() == []
    assert all(UNPROTECTED.values())
    monkeypatch.delitem(tables._UNPROTECTED, "rentals.Carrier")
    monkeypatch.delitem(tables._TABLES, Loan)
    monkeypatch.setitem(tables._UNPROTECTED, "rentals.Part", "said of a table that is held")
    found = [error.msg for error in log_knows_every_table(None)]
    labels = ("rentals.Carrier", "rentals.Loan", "rentals.Part")
    said = "Nobody has decided whether the log holds the table"
    assert found == [f"{said} {label}." for label in labels]
