"""The moment a paper was made, as PDF writes it (ISO 32000-1, 7.9.4)."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from rentals.paper.document_info import pdf_moment

pytestmark = pytest.mark.any_database


@pytest.mark.parametrize(
    ("offset", "written"),
    [
        (timezone(timedelta(hours=-3, minutes=-30)), "-03'30'"),
        (timezone(timedelta(hours=5, minutes=45)), "+05'45'"),
        (UTC, "+00'00'"),
        (None, "+00'00'"),
    ],
)
def test_a_moment_carries_its_distance_from_universal_time(offset, written):
    moment = datetime(2027, 3, 12, 14, 5, 7, tzinfo=offset)
    assert pdf_moment(moment) == f"D:20270312140507{written}"
