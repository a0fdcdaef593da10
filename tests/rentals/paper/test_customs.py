import pytest

from rentals.paper.customs import needs_contents_statement
from rentals.paper.facts import Address


@pytest.mark.parametrize(
    ("home", "away", "postcode", "needed"),
    [
        ("DE", "DE", "10115", False),
        ("DE", "IE", "H91", False),
        ("DE", "MC", "98000", False),
        ("DE", "CH", "8001", True),
        ("DE", "GB", "N1", True),
        ("DE", "NO", "0150", True),
        ("GB", "JE", "JE2", False),
        ("CH", "LI", "9490", False),
        ("US", "CA", "M5V", True),
        ("ES", "ES", "35001", True),
        ("DE", "DE", "27498", True),
        ("", "CH", "8001", False),
        ("DE", "", "", False),
    ],
)
def test_whether_a_parcel_leaves_the_customs_area(home, away, postcode, needed):
    sender = Address("S", "S 1", "Town", "10999", country=home)
    assert (
        needs_contents_statement(sender, Address("A", "S 1", "Town", postcode, country=away))
        is needed
    )
