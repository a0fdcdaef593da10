"""Reading what Setup says about the wording of mails."""

from __future__ import annotations

from rentals.models import MailWording, Message
from rentals.post.usual_wording import USUAL
from rentals.post.wording import Wording

Occasion = Message.Occasion
#: Occasions that draft their mail by themselves until Setup says otherwise.
BY_ITSELF = (Occasion.PACKING_LIST, Occasion.SHORTFALL, Occasion.STATEMENT)


def wording_for(occasion: str) -> Wording:
    """The practice's own wording of an occasion, else the one Kitdesk came with."""
    own_wording = MailWording.objects.filter(occasion=occasion).first()
    if own_wording is None:
        return USUAL[occasion]
    return Wording(own_wording.subject, own_wording.text)


def wording_by_itself(occasion: str) -> Wording | None:
    """The wording of an occasion whose mail is drafted when it comes up; None where somebody must
    ask for it.
    """
    own_wording = MailWording.objects.filter(occasion=occasion).first()
    if own_wording is None:
        return USUAL[occasion] if occasion in BY_ITSELF else None
    if not own_wording.drafted_by_itself:
        return None
    return Wording(own_wording.subject, own_wording.text)


def drafts_by_itself(occasion: str) -> bool:
    """Whether the mail of an occasion is drafted when it comes up, without anybody asking for
    it.
    """
    own_wording = MailWording.objects.filter(occasion=occasion).first()
    if own_wording is None:
        return occasion in BY_ITSELF
    return own_wording.drafted_by_itself
