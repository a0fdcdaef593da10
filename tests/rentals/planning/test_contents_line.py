"""A line of a contents list that contradicts itself is refused beside the field to mend."""

from itertools import product

import pytest

from rentals.errors import Refused
from rentals.planning.contents_line import check_line

BOTH = (False, True)


def test_a_single_use_part_neither_comes_back_nor_is_cleaned():
    for comes_back, cleaned in product(BOTH, BOTH):
        check_line(single_use=False, comes_back=comes_back, cleaned=cleaned)
    check_line(single_use=True, comes_back=False, cleaned=False)
    for cleaned in BOTH:
        with pytest.raises(Refused) as refused:
            check_line(single_use=True, comes_back=True, cleaned=cleaned)
        assert refused.value.field == "comes_back"
    with pytest.raises(Refused) as refused:
        check_line(single_use=True, comes_back=False, cleaned=True)
    assert refused.value.field == "cleaned_between_users"
