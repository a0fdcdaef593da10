"""The private link of a loan's student to the page of that loan."""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class StudentLink(models.Model):
    """One link to a student's page. The link itself is in no table: see
    `rentals/student_tokens.py`.
    """

    loan = models.ForeignKey("rentals.Loan", on_delete=models.CASCADE, related_name="student_links")
    nonce = models.CharField(max_length=64, help_text="Random; the token is worked out from it.")
    token_sha256 = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    last_used_at = models.DateTimeField(
        null=True, blank=True, help_text="When the page was last opened, noted once a day."
    )
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-made_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["loan"],
                condition=Q(revoked_at__isnull=True),
                name="one_student_link_in_force_per_loan",
            )
        ]

    def __str__(self) -> str:
        return f"Link to the student's page of loan {self.loan_id}"
