"""The logical structure of a finished PDF, as a program reads it that follows it."""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO

import pikepdf

MARKS = ("BDC", "BMC")


@dataclass(frozen=True)
class Tagged:
    """One element with what it holds: elements, or the (page, number) of marked pieces."""

    tag: str
    kids: tuple[Tagged | tuple[int, int], ...]
    alternative: str = ""

    def tags(self) -> list[str]:
        """The tags below it, as read."""
        found = []
        for kid in self.kids:
            if isinstance(kid, Tagged):
                found += [kid.tag, *kid.tags()]
        return found

    def pieces(self) -> list[tuple[int, int]]:
        """All marked pieces below it, in the order in which they are read."""
        found = []
        for kid in self.kids:
            found += kid.pieces() if isinstance(kid, Tagged) else [kid]
        return found


def structure_of(pdf: bytes) -> Tagged:
    """The tree; every element must name its parent, and every piece its element."""
    with pikepdf.open(BytesIO(pdf)) as document:
        root = document.Root.StructTreeRoot
        pages = {page.objgen: number for number, page in enumerate(document.pages)}
        parents = root.ParentTree.Nums
        by_page = {int(parents[i]): parents[i + 1] for i in range(0, len(parents), 2)}
        assert [int(page.StructParents) for page in document.pages] == list(range(len(pages)))
        return _element(root.K, root, pages, by_page)


def _element(row, parent, pages, by_page) -> Tagged:
    assert row.P.objgen == parent.objgen
    kids = []
    for kid in row.K:
        if isinstance(kid, int) or kid.get("/Type") == "/MCR":
            piece = (pages[row.Pg.objgen], int(kid)) if isinstance(kid, int) else None
            page, number = piece or (pages[kid.Pg.objgen], int(kid.MCID))
            assert by_page[page][number].objgen == row.objgen
            kids.append((page, number))
        else:
            kids.append(_element(kid, row, pages, by_page))
    return Tagged(str(row.S)[1:], tuple(kids), str(row.get("/Alt", "")))


def marked_pieces(pdf: bytes) -> tuple[list[tuple[int, int]], int]:
    """The (page, number) of every piece in the order drawn, and how much is shown outside of any
    mark; marks must be closed, and never stand in each other.
    """
    found, unmarked = [], 0
    with pikepdf.open(BytesIO(pdf)) as document:
        for number, page in enumerate(document.pages):
            depth = 0
            for instruction in pikepdf.parse_content_stream(page):
                name = str(instruction.operator)
                if name in MARKS:
                    depth += 1
                    if name == "BDC":
                        found.append((number, int(instruction.operands[1].MCID)))
                elif name == "EMC":
                    depth -= 1
                elif name in ("Tj", "TJ", "S", "f", "B", "f*", "Do", "s", "b") and depth == 0:
                    unmarked += 1
                assert depth in (0, 1)
            assert depth == 0
    return found, unmarked
