"""What the paper says, as plain frozen values: no database row, no request reaches the drawing
code.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal

from rentals.planning.ledger import LedgerLine
from rentals.planning.payment_code import PayeeAccount
from rentals.planning.settlement import Claim


@dataclass(frozen=True)
class Printed:
    """A finished PDF.

    ``unprintable`` names each text that has a character none of the fonts can draw: it stands on
    the page as a crossed box. ``borrowed`` names each text set in a typeface that the file does not
    carry (Chinese, Japanese or Korean without a configured font): the program that opens or prints
    the file must bring it.
    """

    pdf: bytes
    unprintable: tuple[str, ...] = ()
    borrowed: tuple[str, ...] = ()
    pages: int = 1


@dataclass(frozen=True)
class Address:
    """Where a parcel goes. ``street`` may hold several lines; ``country`` is ISO 3166-1 alpha-2 or
    empty.
    """

    name: str
    street: str = ""
    city: str = ""
    postcode: str = ""
    region: str = ""
    country: str = ""
    district: str = ""
    sorting_code: str = ""
    company: str = ""


@dataclass(frozen=True)
class PracticeFacts:
    """Who lends the kits. ``currency`` is ISO 4217; ``paper`` is ``A4`` or ``Letter``; ``payment``
    says how money reaches the practice, ``printed_at`` when its papers are made. ``locale`` is that
    of the paper's words, ``students_locale`` of those for students who have told no language.
    """

    name: str
    instructor: str = ""
    email: str = ""
    phone: str = ""
    address: Address | None = None
    site_url: str = ""
    currency: str = "EUR"
    paper: str = "A4"
    locale: str = "en"
    students_locale: str = "en"
    payment: str = ""
    days_to_pay: int | None = None
    account: PayeeAccount = field(default_factory=PayeeAccount)
    printed_at: datetime | None = None


@dataclass(frozen=True)
class PackingLineFacts:
    """One line of a packing list; ``mass_g`` grams and ``price`` are for one piece, ``leads`` are
    role and colour of each lead of a set.
    """

    name: str
    part_kind: str
    quantity: int = 1
    unit: str = ""
    inner_bag: str = ""
    serial: str = ""
    part_code: str = ""
    batch: str = ""
    expires_on: date | None = None
    comes_back: bool = True
    single_use: bool = False
    cleaned: bool = False
    mass_g: int = 0
    price: Decimal = Decimal(0)
    shelf: str = ""
    origin: str = ""
    tariff_number: str = ""
    leads: str = ""

    @property
    def used_up(self) -> bool:
        """Whether the piece stays with the student or is thrown away: nothing of it is expected
        back.
        """
        return self.single_use or not self.comes_back


@dataclass(frozen=True)
class PackingListFacts:
    """One parcel: the kit, who gets it, when it is due and every line in packing order."""

    practice: PracticeFacts
    kit_code: str
    kit_type: str
    student: str
    run: str
    lines: tuple[PackingLineFacts, ...]
    return_by: date
    post_by: date | None = None
    packed_on: date | None = None
    sent_on: date | None = None
    course_from: date | None = None
    course_to: date | None = None
    care: str = ""
    cells: str = ""
    override_reason: str = ""
    overridden_by: str = ""
    address: Address | None = None
    deposit: Decimal = Decimal(0)
    student_phone: str = ""
    student_email: str = ""


@dataclass(frozen=True)
class StockShortFacts:
    """A counted item that does not suffice for a run; ``words`` say what is needed and here."""

    name: str
    words: str
    shelf: str = ""


@dataclass(frozen=True)
class RunFacts:
    """A course run to be packed in one go. ``loans`` may be a generator that is read once."""

    practice: PracticeFacts
    name: str
    post_by: date
    return_by: date
    loans: Iterable[PackingListFacts]
    stock_short: tuple[StockShortFacts, ...] = ()


@dataclass(frozen=True)
class LabelFacts:
    """One label: ``title`` is the kit type, part name or lead role; ``lines`` are small print below
    it.
    """

    code: str
    title: str
    lines: tuple[str, ...] = ()
    site_url: str = ""
    owner: str = ""


@dataclass(frozen=True)
class ChargeFacts:
    """One shortfall at settling; ``amount`` in the practice's currency for all its pieces."""

    part: str
    what: str
    quantity: int
    amount: Decimal
    state: str
    reason: str = ""

    @property
    def claim(self) -> Claim:
        """Its money, as the settlement counts it."""
        return Claim(self.amount, self.state)

    @property
    def recovered(self) -> bool:
        """Whether the part has come after all, so that nobody bears anything."""
        claim = self.claim
        return not (claim.charged or claim.written_off or claim.undecided)


@dataclass(frozen=True)
class StatementFacts:
    """A loan at its end: its ledger by day, what lacked of it, what goes back. ``settled`` once
    that is done; ``lost`` where the kit was written off.
    """

    practice: PracticeFacts
    kit_code: str
    student: str
    run: str
    lines: tuple[LedgerLine, ...]
    settled_on: date
    charges: tuple[ChargeFacts, ...] = field(default=())
    sent_on: date | None = None
    came_back_on: date | None = None
    address: Address | None = None
    settled: bool = True
    pay_by: date | None = None
    reference: str = ""
    lost: bool = False


@dataclass(frozen=True)
class AddressLabelFacts:
    """One parcel to address; ``mass_g`` is the parcel's mass in grams, 0 where it is not known, and
    ``phone`` the receiver's telephone number.
    """

    to: Address
    sender: Address | None = None
    kit_code: str = ""
    mass_g: int = 0
    locale: str = "en"
    phone: str = ""


@dataclass(frozen=True)
class ShoppingLineFacts:
    """One item to be ordered; ``cost`` is of all packs, None where no price is known, ``urgency``
    what is said beside the day to order by: ``overdue``, ``today`` or nothing.
    """

    name: str
    supplier: str
    here: int
    needed: int
    needed_by: date | None
    order_by: date | None
    packs: int
    pack_size: int
    cost: Decimal | None
    why: str
    urgency: str = ""


@dataclass(frozen=True)
class ShoppingFacts:
    """What is to be ordered of counted stock, the most pressing first, as of a day."""

    practice: PracticeFacts
    on: date
    lines: tuple[ShoppingLineFacts, ...]
