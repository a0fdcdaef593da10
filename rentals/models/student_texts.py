"""The owner's own words in place of those that Kitdesk comes with on the student's page."""

from __future__ import annotations

from django.db import models

from rentals.languages import language_name


class StudentText(models.Model):
    """One text of the student's page in one language. Without a row the usual text stands: see
    `rentals/student_texts.py`.
    """

    key = models.CharField(max_length=80)
    language = models.CharField(max_length=12)
    body = models.TextField(max_length=6000)

    class Meta:
        ordering = ["key", "language"]
        constraints = [
            models.UniqueConstraint(
                fields=["key", "language"],
                name="student_text_once_per_language",
                violation_error_message="There is a text in this language already.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.key}, {language_name(self.language)}"
