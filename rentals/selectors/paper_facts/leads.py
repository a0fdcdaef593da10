"""The leads of a set, as the papers name them."""

from __future__ import annotations

from rentals.models import Part


def leads_in_words(part: Part | None) -> str:
    """Role and colour of each lead, such as ``active A red, ground black``; empty for a part that
    is no set of leads.
    """
    lead_set = getattr(part, "leadset", None)
    if lead_set is None:
        return ""
    leads = (f"{lead.get_role_display()} {lead.colour}".strip() for lead in lead_set.leads.all())
    return ", ".join(leads)
