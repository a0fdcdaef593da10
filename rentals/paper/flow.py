"""Blocks of known height that run down a page and onto the next."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from .ink import Ink


@dataclass(frozen=True)
class Block:
    """Something ``height`` millimetres high; ``draw`` is given the ink and the y of its top edge.

    ``under`` are the headings to repeat where this block begins a page, uppermost first.
    """

    height: float
    draw: Callable[[Ink, float], None]
    keep_with_next: bool = False
    at_foot: bool = False
    under: tuple["Block", ...] = ()


def paginate(blocks: Sequence[Block], first_room: float, later_room: float) -> list[list[Block]]:
    """Divide blocks over pages of the given room in millimetres; a heading never stays behind
    alone.

    What is kept together but higher than a whole page is divided like the rest. A block higher than
    a page gets a page of its own and runs over its foot.
    """
    pages: list[list[Block]] = [[]]
    room_left = first_room
    for i, block in enumerate(blocks):
        need = block.height + _kept_height(blocks, i)
        if need > later_room:
            need = block.height
        if need > room_left and pages[-1]:
            pages.append([*block.under])
            room_left = later_room - sum(again.height for again in pages[-1])
        pages[-1].append(block)
        room_left -= block.height
    return pages


def draw_page(ink: Ink, blocks: Sequence[Block], top: float, foot: float) -> None:
    """Draw blocks below each other from ``top``; those marked ``at_foot`` sit together above
    ``foot``.
    """
    y = top
    for block in blocks:
        if not block.at_foot:
            block.draw(ink, y)
            y += block.height
    low = [block for block in blocks if block.at_foot]
    y = foot - sum(block.height for block in low)
    for block in low:
        block.draw(ink, y)
        y += block.height


def _kept_height(blocks: Sequence[Block], i: int) -> float:
    """Height of what must stay on the page with block ``i``."""
    height = 0.0
    while i + 1 < len(blocks) and blocks[i].keep_with_next:
        i += 1
        height += blocks[i].height
    return height
