"""The papers that go with a mail, printed when they are needed."""

from __future__ import annotations

from rentals.models import Attachment, Loan, Message
from rentals.paper.from_models import (
    fonts,
    packing_list_facts,
    practice_facts,
    statement_facts,
    with_all_facts,
)
from rentals.paper.packing_list import packing_list
from rentals.paper.statement import settling_statement

Paper = Attachment.Paper
#: The paper that an occasion's mail carries.
PAPER_OF = {Message.Occasion.PACKING_LIST: Paper.PACKING_LIST, Message.Occasion.STATEMENT: Paper.STATEMENT}


def file_name(paper: str, loan: Loan) -> str:
    """Plain letters only: every mail program saves it under this name."""
    return f"{paper.replace('_', '-')}-{loan.kit.code}.pdf"


def content_of(attachment: Attachment) -> bytes:
    """The bytes that go out: those kept, or the paper printed as the loan stands now."""
    kept = bytes(attachment.content)
    if kept or not attachment.paper:
        return kept
    loan = with_all_facts(Loan.objects.filter(pk=attachment.message.loan_id)).get()
    practice = practice_facts()
    if attachment.paper == Paper.STATEMENT:
        return settling_statement(statement_facts(loan, practice), fonts=fonts()).pdf
    return packing_list(packing_list_facts(loan, practice), fonts=fonts()).pdf
