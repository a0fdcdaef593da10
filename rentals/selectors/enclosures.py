"""The papers that go with a mail, printed when they are needed. Writes nothing."""

from __future__ import annotations

from collections.abc import Iterable

from rentals.models import Attachment, Loan, Message
from rentals.paper.facts import Printed
from rentals.paper.packing_list import packing_list
from rentals.paper.statement import settling_statement
from rentals.selectors.paper_facts.packing_lists import packing_list_facts, with_all_facts
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
    return packing_list(packing_list_facts(loan, practice), fonts=house_fonts())


def content_of(attachment: Attachment) -> bytes:
    """The bytes that go out: those kept, or the paper printed now."""
    content = bytes(attachment.content)
    if content or not attachment.paper:
        return content
    return printed(attachment).pdf


def trouble_with(attachments: Iterable[Attachment]) -> str:
    """What is wrong with papers that wait to be printed, in a sentence; empty where nothing is."""
    boxes: list[str] = []
    for attachment in attachments:
        if not attachment.paper or attachment.content:
            continue
        try:
            boxes += printed(attachment).unprintable
        except (ValueError, LookupError) as problem:
            return f"{attachment.file_name} cannot be printed: {problem}"
    if not boxes:
        return ""
    return (
        f"The attached paper shows crossed boxes in place of: {', '.join(boxes)}. "
        "The setting KITDESK_FONTS names a font that has these letters."
    )
