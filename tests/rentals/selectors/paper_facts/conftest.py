import pytest

from rentals.models import Practice


@pytest.fixture
def practice() -> Practice:
    desk = Practice.current()
    desk.name, desk.email, desk.street, desk.city = (
        "Ease at the Instrument",
        "desk@ease.example",
        "Hall 1",
        "Rosinburg",
    )
    desk.postcode, desk.country, desk.site_url = "12345", "DE", "https://kits.ease.example"
    desk.save()
    return desk
