"""The embedded bench as a Django app."""

from django.apps import AppConfig


class ReadinessConfig(AppConfig):
    name = "readiness"
    default_auto_field = "django.db.models.BigAutoField"
