"""Help by symptom as a student went through it, what an owner changed in it, and fault reports."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from rentals.addresses import page_address
from rentals.marks import Mark, mark_of
from rentals.states import FaultState, GuideOutcome

from .loans import Loan

SYMPTOM_LENGTH = 12
STEP_LENGTH = 40
ANSWERS = [("yes", "yes"), ("no", "no"), ("could_not", "could not do it")]
"""As `rentals.planning.guide_steps` names them, in the desk's words."""


class GuideVisit(models.Model):
    """A student's way through the help for one symptom. Open until it is solved or reported, for
    days if need be.
    """

    loan = models.ForeignKey(Loan, on_delete=models.PROTECT, related_name="guide_visits")
    symptom = models.CharField(max_length=SYMPTOM_LENGTH)
    started_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    outcome = models.CharField(
        max_length=8, choices=GuideOutcome.choices, default=GuideOutcome.OPEN
    )
    solved_by = models.CharField(
        max_length=STEP_LENGTH, blank=True, help_text="Key of the step that solved it."
    )

    class Meta:
        ordering = ["-started_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["loan", "symptom"],
                condition=Q(outcome=GuideOutcome.OPEN),
                name="one_open_guide_visit_per_symptom",
            ),
            models.CheckConstraint(
                condition=Q(outcome=GuideOutcome.OPEN, ended_at__isnull=True)
                | (~Q(outcome=GuideOutcome.OPEN) & Q(ended_at__isnull=False)),
                name="guide_visit_ended_exactly_with_an_outcome",
            ),
        ]

    def __str__(self) -> str:
        return f"Help with {self.symptom}, loan {self.loan_id}"


class TriedStep(models.Model):
    """What a student answered to one step; the last answer counts. Answers that are off the way
    after another one was changed are kept all the same.
    """

    visit = models.ForeignKey(GuideVisit, on_delete=models.CASCADE, related_name="tried")
    step = models.CharField(max_length=STEP_LENGTH)
    answer = models.CharField(max_length=9, choices=ANSWERS)
    at = models.DateTimeField()

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["visit", "step"], name="guide_step_answered_once")
        ]

    def __str__(self) -> str:
        return f"{self.step}: {self.get_answer_display()}"


class LeftOutStep(models.Model):
    """A step that the owner leaves out of the help for one symptom."""

    symptom = models.CharField(max_length=SYMPTOM_LENGTH)
    step = models.CharField(max_length=STEP_LENGTH)

    class Meta:
        ordering = ["symptom", "step"]
        constraints = [
            models.UniqueConstraint(fields=["symptom", "step"], name="guide_step_left_out_once")
        ]

    def __str__(self) -> str:
        return f"{self.symptom} without {self.step}"


class OwnStep(models.Model):
    """A step of the owner's own, in their own words; it comes last, before the trace is sent."""

    symptom = models.CharField(max_length=SYMPTOM_LENGTH)
    title = models.CharField(max_length=40)
    to_try = models.TextField(max_length=600)
    rules_out = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["symptom", "pk"]

    def __str__(self) -> str:
        return self.title

    @property
    def key(self) -> str:
        """By which trees and answers know it."""
        return f"own.{self.pk}"


class FaultReport(models.Model):
    """A fault that the help did not mend, as the student sends it: work for the instructor until it
    is closed.

    `tried` is what was tried, frozen in the desk's own words when the report was sent.
    """

    State = FaultState

    visit = models.OneToOneField(GuideVisit, on_delete=models.PROTECT, related_name="report")
    loan = models.ForeignKey(Loan, on_delete=models.PROTECT, related_name="fault_reports")
    at = models.DateTimeField()
    symptom = models.CharField(max_length=120, help_text="In the desk's words.")
    tried = models.JSONField(default=list)
    out_of_use = models.BooleanField(
        default=False, help_text="The student was told not to use the kit again."
    )
    note = models.TextField(blank=True, max_length=2000, help_text="In the student's words.")
    state = models.CharField(max_length=8, choices=FaultState.choices, default=FaultState.OPEN)
    answer = models.TextField(
        blank=True, max_length=2000, help_text="What was done; the student reads it."
    )
    answered_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    hold_on_return = models.BooleanField(default=False)

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state=FaultState.OPEN) | ~Q(answer=""),
                name="fault_report_ends_with_what_was_done",
            ),
            models.CheckConstraint(
                condition=Q(state=FaultState.CLOSED, closed_at__isnull=False)
                | (~Q(state=FaultState.CLOSED) & Q(closed_at__isnull=True)),
                name="fault_report_closed_exactly_with_its_day",
            ),
        ]
        indexes = [models.Index(fields=["state", "at"])]

    def __str__(self) -> str:
        return f"{self.symptom} ({self.loan})"

    def get_absolute_url(self) -> str:
        return page_address("rentals:fault", self.pk)

    @property
    def mark(self) -> Mark:
        """How its state is shown."""
        return mark_of(FaultState(self.state))
