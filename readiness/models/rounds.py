"""A kit's round on the bench: all tests since its last return or its last change of parts, taken
together.
"""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from readiness.marks import verdict_mark
from readiness.states import VerdictWord
from rentals.marks import Mark
from rentals.models import Kit
from rentals.noted import NotedManager

from .captures import Capture


class BenchTest(models.Model):
    """One round. `verdict` is empty while tests of the plan are missing and nothing failed."""

    kit = models.ForeignKey(Kit, on_delete=models.PROTECT, related_name="bench_tests")
    current = models.BooleanField(default=True)
    since = models.DateTimeField(
        null=True, blank=True, help_text="Captures taken before this do not count."
    )
    at = models.DateTimeField(help_text="When it was last judged.")
    required = models.JSONField(default=list)
    tests = models.JSONField(
        default=dict, help_text="Per test: the capture that counts and its verdict."
    )
    captures = models.ManyToManyField(Capture, related_name="bench_tests", blank=True)
    verdict = models.CharField(max_length=7, choices=VerdictWord.choices, blank=True)
    sentence = models.CharField(max_length=500, blank=True)
    findings = models.JSONField(default=list)
    warnings = models.JSONField(
        default=list, help_text="Parts that drift towards a limit, in sentences."
    )
    proven = models.JSONField(default=list, help_text="Leads positively proven: A, B, ground.")
    continuity = models.FloatField(null=True, blank=True)
    noise = models.FloatField(null=True, blank=True)
    battery = models.FloatField(null=True, blank=True)
    cleared_at = models.DateTimeField(null=True, blank=True)
    not_cleared_because = models.CharField(
        max_length=500,
        blank=True,
        help_text="Fit on the bench, and yet not cleared: what stands against it.",
    )

    objects = NotedManager()

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["kit"], condition=Q(current=True), name="kit_has_one_current_bench_test"
            ),
            models.CheckConstraint(
                condition=Q(cleared_at__isnull=True) | Q(verdict=VerdictWord.FIT),
                name="bench_test_clears_only_when_fit",
            ),
            *(
                models.CheckConstraint(
                    condition=Q(**{f"{name}__isnull": True})
                    | Q(**{f"{name}__gte": 0, f"{name}__lte": 100}),
                    name=f"bench_test_{name}_from_0_to_100",
                )
                for name in ("continuity", "noise", "battery")
            ),
        ]
        indexes = [
            models.Index(
                fields=["-at", "-id"],
                condition=Q(current=True) & ~Q(warnings=[]),
                name="bench_test_that_warns",
            )
        ]

    def __str__(self) -> str:
        return f"Bench test of {self.kit}: {self.verdict or 'not finished'}"

    @property
    def mark(self) -> Mark:
        """How its verdict is shown."""
        return verdict_mark(self.verdict, "not finished")

    @property
    def lacking(self) -> list[str]:
        """Tests of the plan that have no verdict in this round, in bench order."""
        return [test for test in self.required if test not in self.tests]
