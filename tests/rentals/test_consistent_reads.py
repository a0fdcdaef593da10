"""One moment of the database while others go on writing."""

import pytest
from django.db import connections

from rentals.consistent_reads import one_view
from rentals.models import Carrier


@pytest.mark.django_db(transaction=True)
def test_what_others_write_meanwhile_waits_for_nobody_and_is_not_seen():
    carriers = Carrier.objects.filter(name__startswith="House")
    another = connections.create_connection("default")
    try:
        with one_view():
            assert not carriers.exists()
            with another.cursor() as cursor:
                cursor.execute(
                    "INSERT INTO rentals_carrier (name, address_pattern) VALUES ('House post', '')"
                )
            assert not carriers.exists()
        assert carriers.exists()
    finally:
        another.close()
