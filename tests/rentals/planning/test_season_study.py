import pytest

from rentals.planning.season_study import LAWS, study

pytestmark = pytest.mark.any_database


def test_a_small_study_counts_every_statement_once():
    heard = []
    found = list(study(5, 1, progress=heard.append, laws=LAWS[1:3]))
    assert [row.law for row in found] == ["log-normal", "heavy tail"]
    assert heard == ["log-normal: 5 of 5 seasons", "heavy tail: 5 of 5 seasons"]
    for row in found:
        assert row.seasons == sum(tenth.statements for tenth in row.runs) == 5
        assert 0 < row.nine_in_ten.statements <= 5
        assert 0 <= row.nine_in_ten.true <= row.nine_in_ten.statements
        for place, tenth in enumerate(row.kits):
            if tenth.statements:
                assert place / 10 <= tenth.stated / tenth.statements <= (place + 1) / 10 + 1e-9
