"""The loan loop as a Django app."""

from django.apps import AppConfig
from django.urls import register_converter

from rentals.row_numbers import RowNumberConverter


class RentalsConfig(AppConfig):
    name = "rentals"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Give addresses, also those of the other apps, the place ``<row:pk>``."""
        register_converter(RowNumberConverter, "row")
