"""The leads of a set, as the papers name them."""

from __future__ import annotations

from rentals.catalogues import gettext
from rentals.models import Lead, Part


def leads_in_words(part: Part | None) -> str:
    """Role, in the language that is spoken now, and colour of each lead, such as ``active A red,
    ground black``; empty for a part that is no set of leads.
    """
    lead_set = getattr(part, "leadset", None)
    if lead_set is None:
        return ""
    roles = {
        Lead.Role.A: gettext("active A"),
        Lead.Role.B: gettext("active B"),
        Lead.Role.GROUND: gettext("ground"),
    }
    leads = (f"{roles[Lead.Role(lead.role)]} {lead.colour}" for lead in lead_set.leads.all())
    return ", ".join(lead.strip() for lead in leads)
