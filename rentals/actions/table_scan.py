"""One scan box for a table with several parcels: each scan finds the check that the part is on,
whichever parcel it lay in.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from rentals import transaction
from rentals.codes import grouped
from rentals.errors import Refused
from rentals.models import Kit, ReturnLine
from rentals.selectors.part_scan import code_meant
from rentals.selectors.replacements import replaced_by_itself
from rentals.selectors.return_table import due_elsewhere, line_under_way, lines_on_the_table
from rentals.states import KitState

from .receive_rest import scan_parcel
from .record import Actor, state_word
from .replaced_back import note_faulty_back
from .return_scan import belongs_words, scan_return

_ON_THE_TABLE = (KitState.AWAY, KitState.CHECK)
_WHICH_PARCEL = "Scan the label of the kit in whose parcel it lay, then the part again."


@dataclass(frozen=True)
class TableScan:
    """What a scan meant: its sentence, the line that is back by it, and the kit whose parcel is in
    hand from now on.
    """

    sentence: str
    line: ReturnLine | None = None
    parcel: Kit | None = None
    noted: bool = False

    @property
    def accepted(self) -> bool:
        """Whether the scan did something by itself."""
        return self.noted or self.line is not None or self.parcel is not None


@transaction.atomic
def scan_on_table(
    text: str, parcel: Kit | None = None, *, actor: Actor = None, at: datetime | None = None
) -> TableScan:
    """Take a scan at the table. A kit's label takes its parcel in hand; a part is marked back on
    the check that it is on. With a `parcel` in hand its first part says that it is here, and what
    is not on its list is written down as found in it.

    Raises
    ------
    Refused
        If the text is no code and no serial number, or the kit has nothing to come back.
    """
    code = code_meant(text, lines_on_the_table())
    kit = Kit.objects.filter(code=code).first()
    if kit is not None:
        return _in_hand(kit)
    if parcel is not None:
        sentence, line = scan_parcel(parcel, code, actor=actor, at=at)
        return TableScan(_of_kit(line, sentence), line)
    found = line_under_way(code)
    if found is None and (replacement := replaced_by_itself(code)) is not None:
        note_faulty_back(replacement, actor=actor, at=at)
        return TableScan(f"{code} is the faulty one that was replaced: noted as here.", noted=True)
    if found is None:
        whose = due_elsewhere(code) or belongs_words(code)
        return TableScan(f"{whose} {_WHICH_PARCEL}")
    sentence, line = scan_return(found.check_of, code, actor=actor, at=at)
    return TableScan(_of_kit(line, sentence), line)


def _in_hand(kit: Kit) -> TableScan:
    if kit.state not in _ON_THE_TABLE:
        raise Refused(f"Kit {kit.code} is {state_word(kit)}: there is no parcel of it to receive.")
    name = f"kit {grouped(kit.code)}"
    return TableScan(f"The parcel of {name} is in hand: scan what is in it.", parcel=kit)


def _of_kit(line: ReturnLine | None, sentence: str) -> str:
    """The sentence with the kit that the part belongs to."""
    if line is None:
        return sentence
    return f"Kit {grouped(line.check_of.loan.kit.code)}. {sentence}"
