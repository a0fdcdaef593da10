"""Every state that a kit, loan, part, return line, shortfall or mail can be in: the word on file
and the words on screen.

One class a noun. The models take their choices from here, the life table and the table of next
acts their keys, `rentals.marks` the tint and shape of each. Nothing but Django's `TextChoices` is
imported, which needs no settings and no database.
"""

from __future__ import annotations

from django.db.models import TextChoices


class KitState(TextChoices):
    """Where a kit stands in the loop."""

    SHELF = "shelf", "on the shelf"
    ASSIGNED = "assigned", "assigned"
    PACKED = "packed", "packed"
    AWAY = "away", "away"
    CHECK = "check", "back, to check"
    BENCH = "bench", "to bench"
    HELD = "held", "held"
    RETIRED = "retired", "retired"


class LoanStage(TextChoices):
    """How far a loan has come."""

    ASSIGNED = "assigned", "assigned"
    PACKED = "packed", "packed"
    AWAY = "away", "away"
    CHECK = "check", "back, to check"
    RETURNED = "returned", "returned"
    SETTLED = "settled", "settled"
    LOST = "lost", "kit lost"
    CANCELLED = "cancelled", "cancelled"


#: Stages in which the kit is taken: nothing else can be done with it.
OPEN_STAGES = [LoanStage.ASSIGNED, LoanStage.PACKED, LoanStage.AWAY, LoanStage.CHECK]


class PartPlace(TextChoices):
    """Where a part with a serial is."""

    FITTED = "fitted", "in a kit"
    SPARE = "spare", "spare"
    SENT = "sent", "sent to a student"
    MISSING = "missing", "missing"
    REPAIR = "repair", "in repair"
    LOST = "lost", "lost"
    RETIRED = "retired", "retired"


#: Where a part can be that is in no kit, as it is offered to choose from.
LOOSE_PLACES = (
    PartPlace.SPARE,
    PartPlace.REPAIR,
    PartPlace.LOST,
    PartPlace.RETIRED,
    PartPlace.MISSING,
)


class PartEnd(TextChoices):
    """Why a part is in use no more."""

    WORN = "worn", "worn out"
    DAMAGED = "damaged", "damaged"
    LOST = "lost", "lost"
    OTHER = "other", "another reason"


class StepKind(TextChoices):
    """What sort of work a step after a return is."""

    CLEAN = "clean", "cleaning"
    CHARGE = "charge", "charging"
    DISPOSE = "dispose", "throwing away"


class ReturnOutcome(TextChoices):
    """What became of one line of a packing list."""

    OPEN = "open", "not looked at"
    BACK = "back", "back"
    MISSING = "missing", "missing"
    DAMAGED = "damaged", "damaged"
    USED_UP = "used_up", "used up"


class ArrivalOutcome(TextChoices):
    """What a student says of one line of the packing list when the parcel has arrived."""

    HERE = "here", "here"
    MISSING = "missing", "missing on arrival"
    DAMAGED = "damaged", "damaged on arrival"


class ShortfallKind(TextChoices):
    """What is wrong with a line that came back short."""

    MISSING = "missing", "missing"
    DAMAGED = "damaged", "damaged"


class ShortfallState(TextChoices):
    """How far a shortfall has come."""

    OPEN = "open", "open"
    CHASED = "chased", "chased"
    RECOVERED = "recovered", "recovered"
    CHARGED = "charged", "charged"
    WAIVED = "waived", "waived"


#: States of a shortfall that has not ended.
UNSETTLED_STATES = [ShortfallState.OPEN, ShortfallState.CHASED]


class FoundState(TextChoices):
    """How far a thing has come that was in a parcel and not on its list."""

    OPEN = "open", "to put away"
    WAITING = "waiting", "waits for its kit"
    MOVED = "moved", "moved to its kit"
    ASIDE = "aside", "kept aside"


#: States of a found thing that is still a task.
UNENDED_FINDS = [FoundState.OPEN, FoundState.WAITING]


class GuideOutcome(TextChoices):
    """How a student's way through the help by symptom ended."""

    OPEN = "open", "under way"
    SOLVED = "solved", "solved"
    REPORTED = "reported", "reported"


class FaultState(TextChoices):
    """How far a fault report has come."""

    OPEN = "open", "to answer"
    ANSWERED = "answered", "answered"
    CLOSED = "closed", "closed"


class MessageState(TextChoices):
    """How far a mail has come."""

    DRAFT = "draft", "draft"
    APPROVED = "approved", "approved"
    QUEUED = "queued", "queued"
    SENDING = "sending", "being sent"
    SENT = "sent", "sent"
    FAILED = "failed", "failed"
    UNCERTAIN = "uncertain", "may have been sent"
    DISCARDED = "discarded", "discarded"


class CallState(TextChoices):
    """How far a call to a webhook has come."""

    WAITING = "waiting", "waiting"
    SENDING = "sending", "being sent"
    TAKEN = "taken", "taken"
    GIVEN_UP = "given_up", "given up"


class ErrandState(TextChoices):
    """How far work has come that is done in the background."""

    WAITING = "waiting", "waiting"
    WORKING = "working", "at work"
    DONE = "done", "done"
    FAULTS = "faults", "done, faults found"
    FAILED = "failed", "not done"
    CANCELLED = "cancelled", "cancelled"


#: Work in the background that has not come to its end.
OPEN_ERRANDS = (ErrandState.WAITING, ErrandState.WORKING)
#: Work that was done to its end, whatever it found.
DONE_ERRANDS = (ErrandState.DONE, ErrandState.FAULTS)


#: A call of which nothing more is tried by itself.
OVER_CALLS = (CallState.TAKEN, CallState.GIVEN_UP)


#: A mail that is with us and at rest: its words and its address can be changed.
CHANGEABLE_MAILS = (MessageState.DRAFT, MessageState.FAILED)

#: A mail still in the house that nobody outside knows of.
UNSENT_MAILS = (MessageState.DRAFT, MessageState.APPROVED, MessageState.QUEUED)

#: A mail that can be taken back: it has not left the house, or nobody got it.
DISCARDABLE_MAILS = (*UNSENT_MAILS, MessageState.FAILED)

#: A mail that moves on by itself within seconds.
MOVING_MAILS = (MessageState.APPROVED, MessageState.QUEUED, MessageState.SENDING)
