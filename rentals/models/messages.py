"""Messages: every mail, from draft to sent, with what is attached."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.urls import reverse


class Message(models.Model):
    """One mail to one address."""

    class Occasion(models.TextChoices):
        PACKING_LIST = "packing_list", "packing list"
        ON_ITS_WAY = "on_its_way", "on its way"
        ARRIVED = "arrived", "did it arrive?"
        DUE_SOON = "due_soon", "due soon"
        OVERDUE = "overdue", "overdue"
        SHORTFALL = "shortfall", "shortfall"
        STATEMENT = "statement", "thank you and statement"

    class State(models.TextChoices):
        DRAFT = "draft", "draft"
        APPROVED = "approved", "approved"
        QUEUED = "queued", "queued"
        SENDING = "sending", "being sent"
        SENT = "sent", "sent"
        FAILED = "failed", "failed"
        UNCERTAIN = "uncertain", "may have been sent"
        DISCARDED = "discarded", "discarded"

    occasion = models.CharField(max_length=12, choices=Occasion.choices)
    loan = models.ForeignKey("rentals.Loan", on_delete=models.PROTECT, null=True, blank=True, related_name="messages")
    run = models.ForeignKey(
        "rentals.CourseRun", on_delete=models.PROTECT, null=True, blank=True, related_name="messages"
    )
    to_name = models.CharField(max_length=120, blank=True)
    to_address = models.CharField(max_length=254)
    subject = models.CharField(max_length=200)
    body_text = models.TextField()
    body_html = models.TextField(blank=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAFT)
    message_id = models.CharField(max_length=255, unique=True, help_text="Fixed when drafted; a resend keeps it.")
    attempts = models.PositiveSmallIntegerField(default=0)
    next_try_at = models.DateTimeField(null=True, blank=True)
    claimed_at = models.DateTimeField(null=True, blank=True)
    last_error = models.CharField(max_length=500, blank=True)
    drafted_at = models.DateTimeField()
    approved_by = models.CharField(max_length=150, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    written_to = models.CharField(max_length=300, blank=True, help_text="The .eml file, where no mail server is set.")
    rule_key = models.CharField(max_length=80, null=True, blank=True, unique=True, help_text="Loan and rule, once.")

    class Meta:
        ordering = ["-drafted_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(state="sent") | Q(sent_at__isnull=False), name="message_sent_has_its_time"
            ),
        ]
        indexes = [models.Index(fields=["state", "next_try_at"])]

    def __str__(self) -> str:
        return f"{self.subject} to {self.to_address}"

    def get_absolute_url(self) -> str:
        return reverse("rentals:message", args=[self.pk])


class Attachment(models.Model):
    """A file that goes with a message, kept as the bytes that were approved."""

    message = models.ForeignKey(Message, on_delete=models.CASCADE, related_name="attachments")
    file_name = models.CharField(max_length=120)
    content_type = models.CharField(max_length=80, default="application/pdf")
    content = models.BinaryField()

    def __str__(self) -> str:
        return self.file_name
