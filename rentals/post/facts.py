"""What mails are made of, as plain frozen values: no database row reaches the post room."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from rentals.paper.facts import PracticeFacts


@dataclass(frozen=True)
class Enclosure:
    """A file that goes with a letter."""

    file_name: str
    content: bytes
    content_type: str = "application/pdf"


@dataclass(frozen=True)
class Letter:
    """One mail to one person. ``automatic`` where nobody read it before it went; without ``html``
    that face is made from the text; it ``follows`` the mails of these Message-IDs, oldest first.
    ``language`` is a code such as ``de-at``, or empty where it is not known.
    """

    to_name: str
    to_address: str
    subject: str
    text: str
    message_id: str
    html: str = ""
    automatic: bool = False
    enclosures: tuple[Enclosure, ...] = ()
    follows: tuple[str, ...] = ()
    language: str = ""


@dataclass(frozen=True)
class MailSender:
    """Whom mail is from: the name shown, the desk's own address, where answers go (nowhere else if
    empty) and where bounces go (the desk's address if empty).
    """

    name: str
    address: str
    answers_to: str = ""
    bounces_to: str = ""


@dataclass(frozen=True)
class ListedPart:
    """One line of the packing list, as a letter names it; `still_out` counts its pieces that have
    not come back where a part of the kit has.
    """

    name: str
    quantity: int = 1
    serial: str = ""
    comes_back: bool = True
    still_out: int | None = None


@dataclass(frozen=True)
class LackingPart:
    """A part that was missing or damaged at the return check; ``amount`` is for all its pieces, in
    the practice's currency. ``unsettled`` while nothing is decided, ``charged`` once the student
    pays, ``for_good`` once somebody does: it never came.
    """

    part: ListedPart
    missing: bool
    amount: Decimal
    detail: str = ""
    unsettled: bool = True
    charged: bool = False
    for_good: bool = False


@dataclass(frozen=True)
class LoanFacts:
    """All that a letter may say about a loan; the sums in the practice's currency.

    ``written_off``: the kit will not come back. ``borne_by_us`` is what the practice pays of what
    lacks. ``refund`` and ``to_pay`` are what is left; ``refunded`` and ``paid`` have moved already,
    the last of it on ``balance_paid_on``.
    """

    practice: PracticeFacts
    student: str
    run: str
    kit_code: str
    due_on: date
    post_by: date
    student_country: str = ""
    sent_on: date | None = None
    carrier: str = ""
    tracking_number: str = ""
    tracking_link: str = ""
    student_page: str = ""
    charge_by: date | None = None
    renew_by: date | None = None
    packed: tuple[ListedPart, ...] = ()
    lacking: tuple[LackingPart, ...] = ()
    deposit: Decimal = Decimal(0)
    came_back: bool = False
    written_off: bool = False
    borne_by_us: Decimal = Decimal(0)
    undecided: Decimal = Decimal(0)
    pay_by: date | None = None
    balance_paid_on: date | None = None
    charged: Decimal = Decimal(0)
    refund: Decimal = Decimal(0)
    to_pay: Decimal = Decimal(0)
    refunded: Decimal = Decimal(0)
    paid: Decimal = Decimal(0)
    reference: str = ""
    phrases: Mapping[str, str] = field(default_factory=dict)
