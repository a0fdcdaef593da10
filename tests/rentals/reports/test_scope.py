"""What a report says it speaks of."""

from datetime import date

import pytest

from rentals.reports.scope import ReportScope

pytestmark = pytest.mark.any_database
FIRST, LAST = date(2027, 3, 1), date(2027, 3, 31)


@pytest.mark.parametrize(
    ("scope", "words"),
    [
        (ReportScope(), "Since this desk began"),
        (ReportScope(FIRST), "Since 1 March 2027"),
        (ReportScope(None, LAST), "Until 31 March 2027"),
        (ReportScope(FIRST, LAST), "From 1 March 2027 to 31 March 2027"),
        (ReportScope(run=3, run_name="Spring"), "Spring"),
        (ReportScope(FIRST, run=3, run_name="Spring"), "Since 1 March 2027, Spring"),
    ],
)
def test_days_and_run_are_said(scope: ReportScope, words: str) -> None:
    assert scope.words == words
