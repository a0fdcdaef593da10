"""The embedded bench as a Django app."""

from django.apps import AppConfig


class ReadinessConfig(AppConfig):
    name = "readiness"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have the log protect what clears a kit."""
        from readiness.models import BenchPlan, BenchTest, Capture, StudentCapture, Verdict
        from rentals.seals.tables import leave_unprotected, protect

        claim = "a worker's claim, gone once it is scored"
        for recording in (Capture, StudentCapture):
            protect(recording, {"attempts": claim, "claimed_at": claim}, file="file")
        for judgement in (Verdict, BenchTest, BenchPlan):
            protect(judgement)
        leave_unprotected(
            {
                "readiness.Upload": "how captures came in; each capture is held, with its file",
                "readiness.TurnedAway": "files that were not taken",
                "readiness.CheckKit": "kits the bench watches itself by; no verdict rests on it",
                "readiness.GuidedRound": "a round that is being recorded; its captures are held",
                "readiness.BenchTest_captures": "which captures a test looked at; both are held",
                "readiness.CaptureMark": "signs of noise, by which a recording is known again",
            }
        )
