"""The logical structure of a PDF: which text is a heading, a paragraph or a cell of a table, in the
order in which it is read (ISO 32000-1, 14.7 and 14.8).

The drawing library writes no structure of its own. It lets the catalogue and the pages name one,
though, and takes operators as they are: so each text is put between marks with a number, and the
tree of elements names these numbers. What has no number (rules, boxes, drawings, repeated heads) is
an artifact, which a reader of the page aloud passes over.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from reportlab.pdfbase.pdfdoc import (
    PDFDictionary,
    PDFDocument,
    PDFName,
    PDFObject,
    PDFObjectReference,
    PDFString,
    format,
)

#: Elements that hold elements, with what a text directly in them is.
_GROUPS = {"Document": "P", "Sect": "P", "Table": "Caption", "TR": "TD"}
#: A marked piece is one number: its page times this, and its number on the page.
_PAGE = 100_000


class Element(PDFObject):
    """One element. Its parts are elements and marked pieces. It is written as it stands when the
    library comes to it: a run has tens of thousands of them, so nothing is built ahead.
    """

    __slots__ = ("alternative", "key", "parent", "parts", "tag")

    def __init__(
        self, tag: str, parent: PDFObject | None = None, key: str = "", alternative: str = ""
    ) -> None:
        self.tag, self.parent, self.key, self.alternative = tag, parent, key, alternative
        self.parts: list[Element | int] = []

    def format(self, document: PDFDocument) -> bytes:
        """The element as the library writes it; all pieces of a leaf are on the pages they name."""
        pages = {part // _PAGE for part in self.parts if isinstance(part, int)}
        own_page = pages.pop() if len(pages) == 1 else None
        words = [b"<< /S /", self.tag.encode(), b" /P ", _reference(self.parent, document)]
        if self.alternative:
            words += [b" /Alt ", format(PDFString(self.alternative), document)]
        if own_page is not None:
            words += [b" /Pg ", _page_reference(own_page, document)]
        kids = [_kid(part, own_page, document) for part in self.parts]
        return b"".join([*words, b" /K [ ", b" ".join(kids), b" ] >>"])


class _ParentTree(PDFObject):
    """For each page the element that each of its numbers belongs to."""

    def __init__(self, marked: list[list[Element]]) -> None:
        self._marked = marked

    def format(self, document: PDFDocument) -> bytes:
        """The number tree, as the library writes it."""
        rows = (
            b"%d [ %s ]" % (page, b" ".join(_reference(element, document) for element in elements))
            for page, elements in enumerate(self._marked)
        )
        return b"<< /Nums [ " + b"\n".join(rows) + b" ] >>"


class Structure:
    """The tree as it grows while pages are drawn."""

    def __init__(self) -> None:
        self._tree = PDFDictionary({"Type": PDFName("StructTreeRoot")})
        self._root = Element("Document", self._tree)
        self._open = [self._root]
        self._marked: list[list[Element]] = []

    @contextmanager
    def element(self, tag: str, *, key: str = "", alternative: str = "") -> Iterator[None]:
        """Everything drawn within is part of it. With a key it goes on where the last element of
        this tag and key ended, such as a table that runs over the page, or one of two lists that
        stand side by side.
        """
        parent = self._open[-1]
        element = _begun(parent, tag, key) if key else None
        if element is None:
            element = Element(tag, parent, key, alternative)
            parent.parts.append(element)
        self._open.append(element)
        try:
            yield
        finally:
            self._open.pop()

    def mark(self, page: int) -> tuple[str, int]:
        """Tag and number for the next piece of a page, counted from 0."""
        element = self._open[-1]
        if element.tag in _GROUPS:
            leaf = Element(_GROUPS[element.tag], element)
            element.parts.append(leaf)
            element = leaf
        while len(self._marked) <= page:
            self._marked.append([])
        number = len(self._marked[page])
        element.parts.append(page * _PAGE + number)
        self._marked[page].append(element)
        return element.tag, number

    def write(self, document: PDFDocument) -> None:
        """Name the tree in the catalogue, and on each page its place in it. All pages are drawn."""
        self._tree.dict["K"] = document.Reference(self._root)
        self._tree.dict["ParentTree"] = document.Reference(_ParentTree(self._marked))
        self._tree.dict["ParentTreeNextKey"] = len(self._marked)
        marked = PDFDictionary({"Marked": "true"})
        vars(document.Catalog).update(StructTreeRoot=self._tree, MarkInfo=marked)
        for page in range(len(self._marked)):
            drawn = document.idToObject[_page_name(page)]
            drawn.__NoDefault__ = [*drawn.__NoDefault__, "StructParents", "Tabs"]
            vars(drawn).update(StructParents=page, Tabs=PDFName("S"))


def _begun(parent: Element, tag: str, key: str) -> Element | None:
    """The element that goes on: one of the last two of its parent."""
    for part in reversed(parent.parts[-2:]):
        if isinstance(part, Element) and (part.tag, part.key) == (tag, key):
            return part
    return None


def _kid(part: Element | int, own_page: int | None, document: PDFDocument) -> bytes:
    """A part as its element names it: a piece by its number, with its page where it is another."""
    if isinstance(part, Element):
        return _reference(part, document)
    page, number = divmod(part, _PAGE)
    if own_page is not None:
        return b"%d" % number
    return b"<< /Type /MCR /Pg %s /MCID %d >>" % (_page_reference(page, document), number)


def _reference(row: PDFObject | None, document: PDFDocument) -> bytes:
    return document.Reference(row).format(document)


def _page_reference(page: int, document: PDFDocument) -> bytes:
    return PDFObjectReference(_page_name(page)).format(document)


def _page_name(page: int) -> str:
    """Under which name the library keeps a page, counted from 0."""
    return f"Page{page + 1}"
