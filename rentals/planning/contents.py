"""What belongs in a kit, what is fitted in it, and what of it lacks or is damaged.

The functions take rows or plain values alike: anything with the few names that `ListLine` and
`FittedPart` give. They look nothing up, so the caller loads both sides first.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

from rentals.counts import pieces


class ListLine(Protocol):
    """One line of a contents list; `quantity` pieces of one kind of part.

    `by_serial` says whether each piece is a part with a serial; other pieces are only counted.
    """

    @property
    def part_kind(self) -> str: ...
    @property
    def name(self) -> str: ...
    @property
    def quantity(self) -> int: ...
    @property
    def by_serial(self) -> bool: ...


class FittedPart(Protocol):
    """A part with a serial that sits in the kit."""

    @property
    def kind(self) -> str: ...
    @property
    def code(self) -> str: ...
    @property
    def damaged(self) -> bool: ...
    @property
    def damage_note(self) -> str: ...


class Bagged(Protocol):
    """A line that is packed in an inner bag, or loose in the box where that is empty."""

    @property
    def inner_bag(self) -> str: ...


class Weighed(Protocol):
    """A line of pieces of one mass; `mass_g` is grams a piece."""

    @property
    def quantity(self) -> int: ...
    @property
    def mass_g(self) -> int: ...


Line = TypeVar("Line", bound=ListLine)
Part = TypeVar("Part", bound=FittedPart)
BaggedLine = TypeVar("BaggedLine", bound=Bagged)


@dataclass(frozen=True)
class FilledLine(Generic[Line, Part]):
    """A line by serial with the parts fitted for it, by code: too few, enough, or too many."""

    line: Line
    parts: tuple[Part, ...]

    @property
    def short(self) -> int:
        """How many pieces lack."""
        return max(self.line.quantity - len(self.parts), 0)

    @property
    def places(self) -> tuple[Part | None, ...]:
        """The part in each place, None where one lacks."""
        return self.parts + (None,) * self.short

    @property
    def going_out(self) -> tuple[Part, ...]:
        """The parts that are packed: no more than the list wants."""
        return self.parts[: self.line.quantity]


@dataclass(frozen=True)
class Piece(Generic[Line, Part]):
    """What one line of a packing list holds: one part by serial, or counted pieces."""

    line: Line
    quantity: int
    part: Part | None = None


def parts_by_kind(parts: Iterable[Part]) -> dict[str, list[Part]]:
    """Parts under their kind, by code within it."""
    kinds: dict[str, list[Part]] = {}
    for part in sorted(parts, key=lambda part: part.code):
        kinds.setdefault(part.kind, []).append(part)
    return kinds


def first_of_each_kind(parts: Iterable[Part]) -> dict[str, Part]:
    """One part for each kind: the first by code where there are two."""
    return {kind: same_kind[0] for kind, same_kind in parts_by_kind(parts).items()}


def filled_lines(
    lines: Iterable[Line], parts: Iterable[Part]
) -> tuple[FilledLine[Line, Part], ...]:
    """The lines by serial, in the order of the list, each with its parts.

    Where two lines want parts of one kind, the first takes what it wants and the last all that is
    left. Parts of a kind that no line wants belong to none.
    """
    by_serial = [line for line in lines if line.by_serial]
    last_of_kind = {line.part_kind: line for line in by_serial}
    waiting = parts_by_kind(parts)
    filled = []
    for line in by_serial:
        same_kind = waiting.get(line.part_kind, [])
        is_last = last_of_kind[line.part_kind] is line
        count = len(same_kind) if is_last else line.quantity
        filled.append(FilledLine(line, tuple(same_kind[:count])))
        waiting[line.part_kind] = same_kind[count:]
    return tuple(filled)


def counted_lines(lines: Iterable[Line]) -> list[Line]:
    """The lines whose pieces are only counted, and added when packing."""
    return [line for line in lines if not line.by_serial]


def pieces_to_pack(lines: Iterable[Line], parts: Iterable[Part]) -> list[Piece[Line, Part]]:
    """What goes into the parcel, in the order of the list; a part that lacks has no piece."""
    lines = list(lines)
    filled = iter(filled_lines(lines, parts))
    pieces: list[Piece[Line, Part]] = []
    for line in lines:
        if line.by_serial:
            pieces += [Piece(line, 1, part) for part in next(filled).going_out]
        else:
            pieces.append(Piece(line, line.quantity))
    return pieces


def free_places(lines: Iterable[ListLine], parts: Iterable[FittedPart], kind: str) -> int:
    """How many more parts of a kind the kit has room for; below zero where it holds too many."""
    places = sum(line.quantity for line in lines if line.by_serial and line.part_kind == kind)
    return places - sum(part.kind == kind for part in parts)


def lacking(lines: Iterable[ListLine], parts: Iterable[FittedPart]) -> list[str]:
    """Sentences naming each part that is missing from the kit or damaged in it; empty for a
    complete kit.
    """
    return [sentence for filled in filled_lines(lines, parts) for sentence in _troubles_of(filled)]


def _troubles_of(filled: FilledLine[ListLine, FittedPart]) -> Iterator[str]:
    name = filled.line.name
    if filled.short:
        yield f"{pieces(filled.short, name)} is missing: fit a spare."
    for part in filled.parts:
        if part.damaged:
            note = f" ({part.damage_note})" if part.damage_note else ""
            yield f"{name} {part.code} is damaged{note}: swap it."


def mass_of(lines: Iterable[Weighed]) -> int:
    """Mass of all pieces of these lines together, in grams."""
    return sum(line.mass_g * line.quantity for line in lines)


def by_inner_bag(lines: Iterable[BaggedLine], loose: str = "") -> dict[str, list[BaggedLine]]:
    """Lines under their inner bag, bags in the order in which packing first meets them.

    Lines without a bag stand under the name `loose`.
    """
    bags: dict[str, list[BaggedLine]] = {}
    for line in lines:
        bags.setdefault(line.inner_bag or loose, []).append(line)
    return bags
