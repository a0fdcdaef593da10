"""What a return check still asks for as a whole: counted lines that nobody has looked at, and steps
that are not confirmed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from rentals.counts import pieces
from rentals.models import Loan, ReturnLine
from rentals.states import ReturnOutcome

from .returns import charging_lacks, cleaning_lacks


@dataclass(frozen=True)
class ReturnRest:
    """What one press can settle: the lines that are back with it, and what each step is for."""

    lines: tuple[ReturnLine, ...]
    to_clean: tuple[ReturnLine, ...]
    to_charge: tuple[ReturnLine, ...]

    @property
    def names(self) -> str:
        """The lines with their numbers, for a sentence."""
        return names_of(self.lines)


def rest_of(lines: Iterable[ReturnLine]) -> ReturnRest:
    """The counted rest of a check. A part with a serial is scanned or looked at by itself: it could
    be that of another kit.
    """
    lines = list(lines)
    rest = tuple(line for line in lines if _is_counted_rest(line))
    here = [line for line in lines if line in rest or line.outcome == ReturnOutcome.BACK]
    return ReturnRest(
        rest,
        to_clean=tuple(line for line in here if cleaning_lacks(line)),
        to_charge=tuple(line for line in here if charging_lacks(line)),
    )


def _is_counted_rest(line: ReturnLine) -> bool:
    packed = line.packing_line
    is_open = line.outcome == ReturnOutcome.OPEN
    return is_open and packed.comes_back and packed.part_id is None


def still_to_come(lines: Iterable[ReturnLine]) -> list[str]:
    """What of a kit may come in another parcel: lines that nobody has looked at, and the pieces
    that counted lines lack.
    """
    rest = []
    for line in lines:
        packed = line.packing_line
        lacks = packed.quantity - line.quantity_back
        due = line.outcome in (ReturnOutcome.OPEN, ReturnOutcome.BACK)
        if packed.comes_back and due and lacks > 0:
            rest.append(pieces(lacks, packed.name))
    return rest


def rest_of_loan(loan: Loan) -> list[str]:
    """What is still to come of a loan whose kit came back in part; empty for any other."""
    lines = ReturnLine.objects.filter(check_of__loan=loan).select_related("packing_line")
    return still_to_come(lines.order_by("packing_line__order", "pk"))


def names_of(lines: Iterable[ReturnLine]) -> str:
    """Lines with their numbers, one after the other."""
    return ", ".join(str(line.packing_line) for line in lines)
