"""The loan loop as a Django app."""

from django.apps import AppConfig


class RentalsConfig(AppConfig):
    name = "rentals"
    default_auto_field = "django.db.models.BigAutoField"
