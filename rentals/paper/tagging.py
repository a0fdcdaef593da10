"""A document drawn page by page whose texts belong to its logical structure; all else on its pages
is an artifact.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from reportlab.pdfgen.canvas import Canvas

from .structure import Structure


class TaggedPages:
    """Pages of one document. Between two pieces that belong to the structure an artifact is open,
    so that lines and boxes need no marks of their own.
    """

    def __init__(self, canvas: Canvas) -> None:
        self.canvas = canvas
        self.structure = Structure()
        self.pages = 1
        self._is_aside = False
        self._begin_artifact()

    @contextmanager
    def element(self, tag: str, *, key: str = "") -> Iterator[None]:
        """The text drawn within is one element: H1, H2, P, Table, TR, TH or TD. One with a key goes
        on where the last of that key ended.
        """
        with self.structure.element(tag, key=key):
            yield

    @contextmanager
    def figure(self, meaning: str) -> Iterator[None]:
        """What is drawn within is a picture that stands for ``meaning``."""
        with self.structure.element("Figure", alternative=meaning), self.marked():
            yield

    @contextmanager
    def aside(self) -> Iterator[None]:
        """Text drawn within repeats what is said elsewhere: heads of later pages, page numbers."""
        was_aside, self._is_aside = self._is_aside, True
        try:
            yield
        finally:
            self._is_aside = was_aside

    @contextmanager
    def marked(self) -> Iterator[None]:
        """What is drawn within is one piece of the open element."""
        if self._is_aside:
            yield
            return
        tag, number = self.structure.mark(self.pages - 1)
        self.canvas.addLiteral(f"EMC /{tag} <</MCID {number}>> BDC")
        yield
        self.canvas.addLiteral("EMC")
        self._begin_artifact()

    def bookmark(self, title: str, level: int = 0) -> None:
        """An entry of the outline that leads to this page."""
        name = f"page-{self.pages}-{level}"
        self.canvas.bookmarkPage(name)
        self.canvas.addOutlineEntry(title, name, level)
        self.canvas.showOutline()

    def next_page(self) -> None:
        """Finish this page and begin another of the same size."""
        self._end_page()
        self.pages += 1
        self._begin_artifact()

    def finish(self) -> None:
        """Write the document with its structure."""
        self._end_page()
        self.structure.write(self.canvas._doc)
        self.canvas.save()

    def _end_page(self) -> None:
        self.canvas.addLiteral("EMC")
        self.canvas.showPage()

    def _begin_artifact(self) -> None:
        self.canvas.addLiteral("/Artifact BMC")
