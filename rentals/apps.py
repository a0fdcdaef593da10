"""The loan loop as a Django app."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate, pre_migrate
from django.urls import register_converter

from rentals import arrival_guard
from rentals.ledger_guard import put_up_after_migrating
from rentals.row_numbers import RowNumberConverter


class RentalsConfig(AppConfig):
    name = "rentals"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Give addresses, also those of the other apps, the place ``<row:pk>``; let the database
        guard the ledger and what was missing on arrival, and mark what changes, and the log hold
        what matters.
        """
        register_converter(RowNumberConverter, "row")
        from rentals import table_marks
        from rentals.seals.opening import open_after_migrating
        from rentals.seals.protected import protect_rentals

        post_migrate.connect(put_up_after_migrating, sender=self)
        pre_migrate.connect(arrival_guard.take_down_before_migrating, sender=self)
        post_migrate.connect(arrival_guard.put_up_after_migrating, sender=self)
        pre_migrate.connect(table_marks.take_down_before_migrating, sender=self)
        post_migrate.connect(table_marks.put_up_after_migrating, sender=self)
        protect_rentals()
        post_migrate.connect(open_after_migrating, sender=self)
