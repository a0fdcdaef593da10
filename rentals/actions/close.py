"""Closing a parcel with one press: packed and, where it is posted already, dispatched."""

from __future__ import annotations

from datetime import datetime

from rentals.models import Kit, Loan

from .dispatch import dispatch
from .once import in_form_transaction
from .pack import pack
from .record import Actor


@in_form_transaction
def close_parcel(
    kit: Kit | str,
    *,
    tracking_number: str = "",
    posted: bool = False,
    carrier: str = "",
    parcel_mass_g: int | None = None,
    actor: Actor = None,
    at: datetime | None = None,
) -> Loan:
    """Pack a kit; with a tracking number, or where it is `posted`, it is on its way as well.

    Raises
    ------
    Refused
        As `pack` and `dispatch` do; nothing is done then.
    """
    loan = pack(kit, parcel_mass_g=parcel_mass_g, actor=actor, at=at)
    if tracking_number or posted:
        number = tracking_number
        return dispatch(loan.kit, tracking_number=number, carrier=carrier, actor=actor, at=at)
    carrier = carrier.strip()[:60]
    if carrier != loan.carrier:
        loan.carrier = carrier
        loan.save(update_fields=["carrier"])
    return loan
