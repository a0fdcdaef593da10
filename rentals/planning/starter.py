"""The ready contents list that a desk without kit types begins with: the things of the trade under
general names, to be adjusted before they are kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from rentals.catalogues import gettext, gettext_noop


@dataclass(frozen=True)
class StarterLine:
    """One proposed line. `key` names it in forms; `mass_g` is grams a piece, to be weighed.

    `serial`: each piece is known by its serial. `by_batch`: its stock is kept in batches with an
    expiry. What is neither single-use nor stays with the student comes back.
    """

    key: str
    part_kind: str
    name: str
    quantity: int
    mass_g: int
    inner_bag: str = ""
    serial: bool = False
    by_batch: bool = False
    single_use: bool = False
    cleaned: bool = False
    days_beyond_due: int = 0

    @property
    def comes_back(self) -> bool:
        return not self.single_use

    @property
    def words(self) -> str:
        """What becomes of it, for the page: cleaned, used up, back."""
        if self.single_use:
            return "used up by the student"
        return "comes back, cleaned between users" if self.cleaned else "comes back"


@dataclass(frozen=True)
class ChosenLine:
    """A proposed line as it was adjusted; `here` are the pieces on the shelf, None where they are
    not counted.
    """

    proposed: StarterLine
    name: str
    quantity: int
    by_serial: bool = False
    price: Decimal = Decimal(0)
    here: int | None = None
    batch: str = ""
    expires_on: date | None = None


STARTER_NAME = gettext_noop("Two-lead kit")
STARTER_CARE = gettext_noop("""\
Hold leads by their housing and never pull the wire. No tight coils, no winding round the box.
Gel electrodes are used once. Dry electrodes and bands are wiped clean after use.
Cells go in the right way round, and only into the charger that came with them.
Record with the laptop on its battery, away from power supplies.""")

_INSTRUMENT_BAG = gettext_noop("instrument bag")
_LEAD_BAG = gettext_noop("lead bag")
_SMALL_BAG = gettext_noop("small parts bag")

#: In the order of packing.
STARTER_LINES = (
    StarterLine(
        "amplifier", "amplifier", gettext_noop("Amplifier"), 1, 180, _INSTRUMENT_BAG, serial=True
    ),
    StarterLine("cable", "cable", gettext_noop("Cable to the computer"), 1, 60, _INSTRUMENT_BAG),
    StarterLine(
        "licence_key", "licence_key", gettext_noop("Licence key"), 1, 12, _SMALL_BAG, serial=True
    ),
    StarterLine("lead_set", "lead_set", gettext_noop("Lead set"), 1, 60, _LEAD_BAG, serial=True),
    StarterLine(
        "gel",
        "electrodes",
        gettext_noop("Gel electrodes"),
        24,
        2,
        _SMALL_BAG,
        by_batch=True,
        single_use=True,
        days_beyond_due=14,
    ),
    StarterLine(
        "dry",
        "electrodes",
        gettext_noop("Dry electrodes"),
        6,
        4,
        _SMALL_BAG,
        by_batch=True,
        cleaned=True,
    ),
    StarterLine("wrist", "band", gettext_noop("Wrist band"), 2, 15, _SMALL_BAG, cleaned=True),
    StarterLine("head", "band", gettext_noop("Head band"), 1, 25, _SMALL_BAG, cleaned=True),
    StarterLine(
        "swabs",
        "swabs",
        gettext_noop("Skin swabs"),
        20,
        2,
        _SMALL_BAG,
        by_batch=True,
        single_use=True,
    ),
    StarterLine(
        "battery_pack",
        "battery_pack",
        gettext_noop("Cells in their holder"),
        1,
        60,
        _INSTRUMENT_BAG,
        serial=True,
    ),
    StarterLine("charger", "charger", gettext_noop("Charger"), 1, 90, _INSTRUMENT_BAG, serial=True),
    StarterLine("pouch", "pouch", gettext_noop("Padded lead pouch"), 1, 25),
    StarterLine("small_bag", "small_bag", gettext_noop("Small parts bag"), 2, 8),
    StarterLine("box", "box", gettext_noop("Shipping box"), 1, 210),
)

_STARTER_TEXTS = frozenset(
    (
        STARTER_NAME,
        STARTER_CARE,
        *(line.name for line in STARTER_LINES),
        *(line.inner_bag for line in STARTER_LINES),
    )
)


def in_students_words(text: str) -> str:
    """A name or a text of a kit type as a student reads it: what the owner typed stays, what came
    with the ready list is in the language that is spoken now.
    """
    plain = "\n".join(text.splitlines())
    return gettext(plain) if plain and plain in _STARTER_TEXTS else text
