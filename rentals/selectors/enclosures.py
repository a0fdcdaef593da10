"""The papers that go with a mail, printed when they are needed. Writes nothing."""

from __future__ import annotations

from collections.abc import Iterable

from rentals.models import Attachment, Loan, Message
from rentals.paper.facts import Printed
from rentals.paper.found_fonts import (
    EAST_ASIAN_PACKAGE,
    EAST_ASIAN_SYSTEM_PACKAGE,
    OTHER_SCRIPTS_PACKAGE,
)
from rentals.paper.packing_list import packing_list
from rentals.paper.statement import settling_statement
from rentals.selectors.paper_facts.packing_lists import students_list_facts, with_all_facts
from rentals.selectors.paper_facts.practice import house_fonts, practice_facts
from rentals.selectors.paper_facts.statements import statement_facts

Paper = Attachment.Paper
#: The paper that an occasion's mail carries.
PAPER_OF: dict[str, str] = {
    Message.Occasion.PACKING_LIST: Paper.PACKING_LIST,
    Message.Occasion.STATEMENT: Paper.STATEMENT,
}


def file_name(paper: str, loan: Loan) -> str:
    """Plain letters only: every mail program saves it under this name."""
    return f"{paper.replace('_', '-')}-{loan.kit.code}.pdf"


def printed(attachment: Attachment) -> Printed:
    """The attachment's paper, printed as its loan stands now; it says which texts no font at hand
    can draw.

    Raises
    ------
    LookupError
        If the attachment is no paper of a loan.
    """
    loan = with_all_facts(Loan.objects.filter(messages=attachment.message)).first()
    if loan is None or not attachment.paper:
        raise LookupError(f"{attachment.file_name} is no paper of a loan.")
    practice = practice_facts()
    if attachment.paper == Paper.STATEMENT:
        return settling_statement(statement_facts(loan, practice), fonts=house_fonts())
    return packing_list(students_list_facts(loan, practice), fonts=house_fonts())


def content_of(attachment: Attachment) -> bytes:
    """The bytes that go out: those kept, or the paper printed now."""
    content = bytes(attachment.content)
    if content or not attachment.paper:
        return content
    return printed(attachment).pdf


def trouble_with(attachments: Iterable[Attachment]) -> str:
    """What is wrong with papers that wait to be printed, in a sentence; empty where nothing is."""
    boxes: list[str] = []
    borrowed: list[str] = []
    for attachment in attachments:
        if not attachment.paper or attachment.content:
            continue
        try:
            paper = printed(attachment)
        except (ValueError, LookupError) as problem:
            return f"{attachment.file_name} cannot be printed: {problem}"
        boxes += paper.unprintable
        borrowed += paper.borrowed
    return " ".join(filter(None, (_boxes_words(boxes), _borrowed_words(borrowed))))


def _boxes_words(texts: list[str]) -> str:
    if not texts:
        return ""
    return (
        f"The attached paper shows crossed boxes in place of: {', '.join(texts)}. Fonts that have"
        f" these letters: the system's Noto fonts ({OTHER_SCRIPTS_PACKAGE}), or a file that the"
        " setting KITDESK_FONTS names."
    )


def _borrowed_words(texts: list[str]) -> str:
    if not texts:
        return ""
    return (
        "The attached paper needs a Chinese, Japanese or Korean typeface on the reader's device"
        f" for: {', '.join(texts)}. To carry it in the file, install {EAST_ASIAN_SYSTEM_PACKAGE}"
        f" or {EAST_ASIAN_PACKAGE} (of the Python registry) on Kitdesk's machine and start again."
    )
