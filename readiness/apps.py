"""The embedded bench as a Django app."""

from django.apps import AppConfig


class ReadinessConfig(AppConfig):
    name = "readiness"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have the log protect what clears a kit."""
        from readiness.models import BenchPlan, BenchTest, Capture, StudentCapture, Verdict
        from rentals.seals.tables import protect

        claim = "a worker's claim, gone once it is scored"
        for recording in (Capture, StudentCapture):
            protect(recording, {"attempts": claim, "claimed_at": claim}, file="file")
        for judgement in (Verdict, BenchTest, BenchPlan):
            protect(judgement)
