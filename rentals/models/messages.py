"""Messages: every mail, from draft to sent, with what is attached."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from rentals.addresses import page_address
from rentals.dates import short_moment
from rentals.marks import Mark, Sign, mark_of
from rentals.states import MessageState

from .leases import Leased


class MessageBatch(models.Model):
    """Mails that were approved with one word and whose sending is watched together."""

    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    def __str__(self) -> str:
        return f"Mails approved {short_moment(timezone.localtime(self.at))}"

    def get_absolute_url(self) -> str:
        return page_address("rentals:messages_batch", self.pk)


class Message(Leased):
    """One mail to one address."""

    class Occasion(models.TextChoices):
        PACKING_LIST = "packing_list", "packing list"
        ON_ITS_WAY = "on_its_way", "on its way"
        ARRIVED = "arrived", "did it arrive?"
        RECHARGE = "recharge", "look after the cells"
        DUE_SOON = "due_soon", "due soon"
        OVERDUE = "overdue", "overdue"
        SHORTFALL = "shortfall", "shortfall"
        STATEMENT = "statement", "thank you and statement"

    State = MessageState

    occasion = models.CharField(max_length=12, choices=Occasion.choices)
    loan = models.ForeignKey(
        "rentals.Loan", on_delete=models.PROTECT, null=True, blank=True, related_name="messages"
    )
    run = models.ForeignKey(
        "rentals.CourseRun",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="messages",
    )
    to_name = models.CharField(max_length=120, blank=True)
    to_address = models.CharField(max_length=254, blank=True)
    subject = models.CharField(max_length=200)
    body_text = models.TextField()
    body_html = models.TextField(
        blank=True, help_text="Made from the plain text whenever that changes."
    )
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAFT)
    message_id = models.CharField(
        max_length=255, unique=True, help_text="Fixed when drafted; a resend keeps it."
    )
    let_go_at = models.DateTimeField(
        null=True, blank=True, help_text="When it was approved, or last asked to be sent again."
    )
    next_try_at = models.DateTimeField(null=True, blank=True)
    last_error = models.CharField(max_length=500, blank=True)
    drafted_at = models.DateTimeField()
    approved_by = models.CharField(max_length=150, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    written_to = models.CharField(
        max_length=300, blank=True, help_text="The .eml file, where no mail server is set."
    )
    batch = models.ForeignKey(
        MessageBatch, on_delete=models.SET_NULL, null=True, blank=True, related_name="messages"
    )
    automatic = models.BooleanField(
        default=False, help_text="Approved by a reminder rule, read by nobody."
    )
    language = models.CharField(
        max_length=12, blank=True, help_text="The language of the wording it was filled from."
    )
    facts = models.JSONField(
        default=dict, blank=True, help_text="What the names of the wording stood for when filled."
    )
    facts_on = models.DateField(
        null=True, blank=True, help_text="The last day on which its facts were looked at."
    )
    edited = models.BooleanField(
        default=False, help_text="A person has changed its words: they are never written over."
    )
    rule_key = models.CharField(
        max_length=80, null=True, blank=True, unique=True, help_text="Loan and rule, once."
    )

    class Meta:
        ordering = ["-drafted_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(state=MessageState.SENT) | Q(sent_at__isnull=False),
                name="message_sent_has_its_time",
            ),
            models.CheckConstraint(
                condition=~Q(state=MessageState.SENDING) | Q(claimed_at__isnull=False),
                name="message_being_sent_has_its_claim",
            ),
            models.UniqueConstraint(
                fields=["loan", "occasion"],
                condition=Q(state=MessageState.DRAFT),
                name="one_draft_per_loan_and_occasion",
            ),
        ]
        indexes = [
            models.Index(fields=["state", "next_try_at"]),
            models.Index(fields=["loan", "-drafted_at", "-id"]),
            models.Index(fields=["occasion", "-drafted_at", "-id"]),
            models.Index(fields=["-drafted_at", "-id"]),
            models.Index(fields=["state", "-drafted_at", "-id"]),
        ]

    def __str__(self) -> str:
        return f"{self.subject} to {self.to_address}"

    def get_absolute_url(self) -> str:
        return page_address("rentals:message", self.pk)

    @property
    def mark(self) -> Mark:
        """How its state is shown."""
        if self.state == MessageState.SENT and self.written_to:
            return mark_of(Sign.NOTE, "written to a file")
        return mark_of(MessageState(self.state))


class MessageStep(models.Model):
    """One line of what happened to a message."""

    message = models.ForeignKey(Message, on_delete=models.CASCADE, related_name="steps")
    at = models.DateTimeField()
    text = models.CharField(max_length=500)
    by = models.CharField(max_length=150, blank=True)

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return self.text


class Attachment(models.Model):
    """A file that goes with a message.

    A paper is printed when the mail goes out, and those bytes are kept; until then `content` is
    empty and the paper is printed anew for whoever looks at it.
    """

    class Paper(models.TextChoices):
        PACKING_LIST = "packing_list", "packing list"
        STATEMENT = "statement", "statement"

    message = models.ForeignKey(Message, on_delete=models.CASCADE, related_name="attachments")
    file_name = models.CharField(max_length=120)
    content_type = models.CharField(max_length=80, default="application/pdf")
    content = models.BinaryField(default=b"", blank=True)
    paper = models.CharField(max_length=12, choices=Paper.choices, blank=True)

    def __str__(self) -> str:
        return self.file_name
