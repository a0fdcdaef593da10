"""How many kits are taken at once."""

from datetime import date

import pytest

from rentals.planning.overlap import kits_needed

pytestmark = pytest.mark.any_database


def test_days_count_as_well_as_numbers_and_an_empty_span_needs_none() -> None:
    january, march, may = date(2027, 1, 1), date(2027, 3, 1), date(2027, 5, 1)
    assert kits_needed([(january, march), (march, may)]) == 1
    assert kits_needed([(january, may), (march, march)]) == 1
    assert kits_needed([]) == 0


def test_a_span_that_ends_before_it_begins_is_refused() -> None:
    with pytest.raises(ValueError, match="ends at 1 before it begins at 2"):
        kits_needed([(2, 1)])
