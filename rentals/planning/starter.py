"""The ready contents list that a desk without kit types begins with: the things of the trade under
general names, to be adjusted before they are kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal


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


STARTER_NAME = "Two-lead kit"
STARTER_CARE = """\
Hold leads by their housing and never pull the wire. No tight coils, no winding round the box.
Gel electrodes are used once. Dry electrodes and bands are wiped clean after use.
Cells go in the right way round, and only into the charger that came with them.
Record with the laptop on its battery, away from power supplies."""

_INSTRUMENT_BAG, _LEAD_BAG, _SMALL_BAG = "instrument bag", "lead bag", "small parts bag"

#: In the order of packing.
STARTER_LINES = (
    StarterLine("amplifier", "amplifier", "Amplifier", 1, 180, _INSTRUMENT_BAG, serial=True),
    StarterLine("cable", "cable", "Cable to the computer", 1, 60, _INSTRUMENT_BAG),
    StarterLine("licence_key", "licence_key", "Licence key", 1, 12, _SMALL_BAG, serial=True),
    StarterLine("lead_set", "lead_set", "Lead set", 1, 60, _LEAD_BAG, serial=True),
    StarterLine(
        "gel",
        "electrodes",
        "Gel electrodes",
        24,
        2,
        _SMALL_BAG,
        by_batch=True,
        single_use=True,
        days_beyond_due=14,
    ),
    StarterLine(
        "dry", "electrodes", "Dry electrodes", 6, 4, _SMALL_BAG, by_batch=True, cleaned=True
    ),
    StarterLine("wrist", "band", "Wrist band", 2, 15, _SMALL_BAG, cleaned=True),
    StarterLine("head", "band", "Head band", 1, 25, _SMALL_BAG, cleaned=True),
    StarterLine("swabs", "swabs", "Skin swabs", 20, 2, _SMALL_BAG, by_batch=True, single_use=True),
    StarterLine(
        "battery_pack",
        "battery_pack",
        "Cells in their holder",
        1,
        60,
        _INSTRUMENT_BAG,
        serial=True,
    ),
    StarterLine("charger", "charger", "Charger", 1, 90, _INSTRUMENT_BAG, serial=True),
    StarterLine("pouch", "pouch", "Padded lead pouch", 1, 25),
    StarterLine("small_bag", "small_bag", "Small parts bag", 2, 8),
    StarterLine("box", "box", "Shipping box", 1, 210),
)
