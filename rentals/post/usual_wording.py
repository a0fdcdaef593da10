"""The wording Kitdesk comes with, by occasion, in every language that there is a catalogue of;
Setup keeps the practice's own.
"""

from __future__ import annotations

from rentals.catalogues import gettext, gettext_noop, in_language
from rentals.languages import USUAL_LANGUAGE

from .wording import Wording

_FOOT = """
{instructor}
{practice}
{practice_email}
{practice_phone}"""

#: Subject and text of each occasion; below the text stands who writes.
_WORDS: dict[str, tuple[str, str]] = {
    "packing_list": (
        gettext_noop("Your kit {kit} for {run}: what is in the parcel"),
        gettext_noop(
            """Dear {student},

Your training kit {kit} for {run} is packed. The packing list is attached. When the parcel \
arrives, please check it against the list, and write to us within two days if anything is missing \
or damaged.

The kit is due back on {due}. These parts come back to us, so please keep them together:

{to_return}

Keep the box, too: the kit travels back in it.
"""
        ),
    ),
    "on_its_way": (
        gettext_noop("Your kit {kit} is on its way"),
        gettext_noop(
            """Dear {student},

The parcel with kit {kit} for {run} was posted on {sent_on}.

Carrier: {carrier}
Tracking number: {tracking}
Follow it here: {tracking_link}

When it arrives, please check it against the packing list.
Your own page of this kit says what is in it and how to use it, and takes your arrival check. Keep \
its address to yourself: {student_page}
"""
        ),
    ),
    "arrived": (
        gettext_noop("Has your kit {kit} arrived?"),
        gettext_noop(
            """Dear {student},

Kit {kit} was posted on {sent_on} and should have reached you by now.

Tracking number: {tracking}
Follow it here: {tracking_link}

Please reply in one line: has it arrived, and is everything on the packing list in it? If it has \
not come, let us know and we will ask the carrier.
Or say it on your own page of this kit: {student_page}
"""
        ),
    ),
    "recharge": (
        gettext_noop("Kit {kit}: the cells may run low"),
        gettext_noop(
            """Dear {student},

Please charge the cells of your kit by {charge_by}, only in the charger that came with them.
Please put new cells into your kit by {renew_by}: of the same kind, all of them at once. Never \
charge the old ones.

Cells go in the right way round; the wrong way can damage the amplifier. If the signal stops or \
misbehaves, the cells are the first thing to look at.
How to look after the kit: {student_page}
"""
        ),
    ),
    "due_soon": (
        gettext_noop("Kit {kit} is due back {days}, on {due}"),
        gettext_noop(
            """Dear {student},

Kit {kit} from {run} is due back on {due}, {days}.

Before you post it, please lay everything out and count it. These parts come back:

{to_return}

Coil the leads in loose loops, take the cells out of the amplifier, and put used electrodes in \
your own bin. Send the kit in the box it came in, to:

{practice_address}

Once you have posted it, please reply to this mail with the tracking number, so that we know it is \
on its way.
The return sheet, and a place for that number, are on your own page of this kit: {student_page}
"""
        ),
    ),
    "overdue": (
        gettext_noop("Kit {kit} was due back on {due}"),
        gettext_noop(
            """Dear {student},

Kit {kit} from {run} was due back on {due}, {days}.
Kit {none_back} has not reached us yet, and someone else is waiting for it.
Part of kit {part_back} has reached us, thank you. Someone else is waiting for the rest:

{rest}

Please post it as soon as you can, in the box it came in, to:

{practice_address}

If it is already on its way, please reply with the tracking number and ignore the rest of this \
mail. If you need it for longer, or if something has happened to it, tell us and we will find a \
way.
How to send it back, step by step: {student_page}
"""
        ),
    ),
    "shortfall": (
        gettext_noop("Your kit {kit}: something is missing or damaged"),
        gettext_noop(
            """Dear {student},

Kit {back} is back, thank you. We checked it against its packing list and found this:
Kit {not_back} has not come back, and we have written it off. This is what had to come back:

{shortfalls}

Small parts often stay behind in a drawer, a laptop bag or an instrument case: please look there \
first. If you think we are mistaken, please tell us.
"""
        ),
    ),
    "statement": (
        gettext_noop("Your statement for kit {kit}"),
        gettext_noop(
            """Dear {student},

Kit {back_complete} is back and checked, and everything that had to come back is here. Thank you \
for taking care of it.
Kit {back_short} is back and checked, thank you. Not everything was there or in order; the \
statement says what became of each part.
Kit {not_back} has not come back, and we have written it off. If you find it after all, please \
write to us.

The statement of this loan, for {run}, is attached. In short:

Deposit: {deposit}
Charged: {charged}
{charges}
Written off, at our cost: {borne_by_us}
Not decided yet: {undecided}
Paid back to you on {paid_back_on}: {paid_back}
To be paid back to you: {refund_due}
Paid by you on {paid_on}: {paid}
Still to pay: {to_pay}
Please pay by {pay_by}.

{how_to_pay}
"""
        ),
    ),
}


def usual_wording(occasion: str, language: str = USUAL_LANGUAGE) -> Wording:
    """The wording of an occasion in a language; in English where that has no catalogue."""
    subject, text = _WORDS[occasion]
    with in_language(language):
        return Wording(gettext(subject), gettext(text) + _FOOT)


#: The English wording of every occasion.
USUAL: dict[str, Wording] = {occasion: usual_wording(occasion) for occasion in _WORDS}
