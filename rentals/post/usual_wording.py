"""The wording Kitdesk comes with, by occasion; Setup keeps the practice's own."""

from __future__ import annotations

from .wording import Wording

_FOOT = """
{instructor}
{practice}
{practice_email}
{practice_phone}"""

USUAL: dict[str, Wording] = {
    "packing_list": Wording(
        "Your kit {kit} for {run}: what is in the parcel",
        """Dear {student},

your training kit {kit} for {run} is packed. The packing list is attached: please check the parcel \
against it when it \
arrives, and write to us within two days if anything is missing or damaged.

The kit is due back on {due}. These parts come back to us, so please keep them together:

{to_return}

Keep the box: the kit travels back in it.
"""
        + _FOOT,
    ),
    "on_its_way": Wording(
        "Your kit {kit} is on its way",
        """Dear {student},

the parcel with kit {kit} for {run} was posted on {sent_on}.

Carrier: {carrier}
Tracking number: {tracking}
Follow it: {tracking_link}

Please check it against the packing list when it arrives.
"""
        + _FOOT,
    ),
    "arrived": Wording(
        "Has your kit {kit} arrived?",
        """Dear {student},

kit {kit} was posted on {sent_on} and should be with you by now.

Tracking number: {tracking}
Follow it: {tracking_link}

Please answer in one line: is it there, and is everything on the packing list in it? If it has not \
come, \
say so and we will ask the carrier.
"""
        + _FOOT,
    ),
    "due_soon": Wording(
        "Kit {kit} is due back {days}, on {due}",
        """Dear {student},

kit {kit} from {run} is due back on {due}, {days}.

Before you post it, lay everything out and count. These parts come back:

{to_return}

Leads in loose loops, no cells in the amplifier, used electrodes in your own bin. Send it in the \
box it came in, to:

{practice_address}

Once it is posted, answer this mail with the tracking number: we then know that it is on its way.
"""
        + _FOOT,
    ),
    "overdue": Wording(
        "Kit {kit} was due back on {due}",
        """Dear {student},

kit {kit} from {run} was due back on {due}, {days}. It is not here yet, and somebody else waits \
for it.

Please post it today, in the box it came in, to:

{practice_address}

If it is on its way already, answer with the tracking number and forget this mail. If you need it \
longer \
or something has happened to it, tell us: we will find a way.
"""
        + _FOOT,
    ),
    "shortfall": Wording(
        "Your kit {kit} is back: something is missing or damaged",
        """Dear {student},

kit {kit} from {run} is back. Thank you. Checked against its packing list, this is not in order:

{shortfalls}

Small parts often stay behind in a drawer, a laptop or an instrument case: please look there \
first. \
If you think we are wrong, say so.
"""
        + _FOOT,
    ),
    "statement": Wording(
        "Thank you: kit {kit} is settled",
        """Dear {student},

kit {kit} from {run} is back, checked and settled. Thank you for taking care of it. The statement \
is attached.

Deposit: {deposit}
Charged: {charged}
{charges}
Paid back to you: {refund}
Still to pay: {to_pay}
"""
        + _FOOT,
    ),
}
