"""What is known of the links to students' pages."""

from __future__ import annotations

import hmac
from dataclasses import dataclass
from datetime import date

from django.utils import timezone
from django.utils.crypto import salted_hmac

from rentals.dates import short_date
from rentals.models import Loan, Practice, StudentLink
from rentals.planning.student_page_days import page_ends_on, page_has_ended
from rentals.states import LoanStage
from rentals.student_tokens import marked_address, token_digest, token_of

from .paper_facts.practice import practice_facts

_SALT = "rentals.student_links"


def derived_token(loan: int, nonce: str) -> str:
    """The token of a loan's link with this random number, worked out with the desk's own key."""
    key = salted_hmac(_SALT, "token", algorithm="sha256").digest()
    return token_of(key, loan, nonce)


def token_of_link(link: StudentLink) -> str:
    """The token of a link; empty where it was made under another SECRET_KEY, so that it cannot be
    worked out any more. It still opens the page for whoever has it.
    """
    token = derived_token(link.loan_id, link.nonce)
    return token if hmac.compare_digest(token_digest(token), link.token_sha256) else ""


def link_of_token(token: str) -> StudentLink | None:
    """The link that a token belongs to, also one that was stopped or has ended; None for a token
    that is nobody's.
    """
    digest = token_digest(token)
    links = StudentLink.objects.select_related(
        "loan__kit__kit_type", "loan__enrolment__student", "loan__enrolment__run"
    )
    link = links.filter(token_sha256=digest).first()
    if link is None or not hmac.compare_digest(digest, link.token_sha256):
        return None
    return link


def link_in_force(loan: Loan) -> StudentLink | None:
    """The link that was not stopped, if there is any; a loan has one at most."""
    return next((link for link in loan.student_links.all() if link.revoked_at is None), None)


def is_stopped(loan: Loan) -> bool:
    """Whether somebody stopped the last link and made no other."""
    links = list(loan.student_links.all())
    return bool(links) and all(link.revoked_at for link in links)


def last_day_of_page(loan: Loan, practice: Practice) -> date | None:
    """The last day on which the loan's page opens; None while the loan is open."""
    return page_ends_on(_closed_on(loan), practice.student_page_days)


def has_ended(loan: Loan, practice: Practice, today: date) -> bool:
    """Whether the page of a loan opens no more: some days after its end, at once where the kit was
    never sent.
    """
    if loan.stage == LoanStage.CANCELLED:
        return True
    return page_has_ended(_closed_on(loan), practice.student_page_days, today)


def _closed_on(loan: Loan) -> date | None:
    return timezone.localdate(loan.closed_at) if loan.closed_at else None


def marked_page(loan: Loan, practice: Practice, today: date) -> str:
    """The address of the student's page as a stored text holds it; empty where the desk has no
    address that students can open, the link was stopped, or the page has ended.
    """
    site = practice_facts(practice).site_url
    if not site or has_ended(loan, practice, today) or is_stopped(loan):
        return ""
    return marked_address(site)


@dataclass(frozen=True)
class LinkState:
    """What the desk sees of a loan's link."""

    link: StudentLink | None
    stopped: bool
    ended: bool
    ends_on: date | None
    no_site: bool

    @property
    def words(self) -> str:
        """When the link was made, last opened, and when it ends, in a sentence."""
        if self.link is None:
            return ""
        made = short_date(timezone.localdate(self.link.made_at))
        used = self.link.last_used_at
        opened = f"last opened {short_date(timezone.localdate(used))}" if used else "not opened yet"
        ends = f"; it ends on {short_date(self.ends_on)}" if self.ends_on else ""
        return f"Link made {made}; {opened}{ends}."


def link_state(loan: Loan, practice: Practice, today: date) -> LinkState:
    """How the link of a loan stands on a day."""
    return LinkState(
        link=link_in_force(loan),
        stopped=is_stopped(loan),
        ended=has_ended(loan, practice, today),
        ends_on=last_day_of_page(loan, practice),
        no_site=not practice_facts(practice).site_url,
    )
