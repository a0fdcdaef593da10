"""The words of the student's page that an owner may change: how to set the kit up, how to look
after it, how to send it back. Lines that begin with "- " become a list.
"""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

#: The texts on how to use the kit, in the order of the page: key, name in Setup, usual words.
_USE: tuple[tuple[str, str, Promise], ...] = (
    (
        "page.cautions",
        "Before you begin",
        _(
            "- This kit is training equipment. It is not for diagnosis and replaces no physician.\n"
            "- If you have a pacemaker or another implanted stimulator, ask your physician before"
            " you use it.\n"
            "- Put electrodes on healthy skin only. If the skin itches or turns red, take them off"
            " and leave that place alone.\n"
            "- Do not use anything that is wet, cracked or shows bare wire, and write to us.\n"
            "- Never wear the kit while anything of it is charging."
        ),
    ),
    (
        "page.leads",
        "Plugging in the leads",
        _(
            "There are two active leads and one ground.\n"
            "- Take each plug by its housing and push it straight in until it stops.\n"
            "- The ground has a socket of its own. Compare with the marks beside the sockets.\n"
            "- Snap each lead onto its electrode before the electrode goes onto the skin.\n"
            "- To unplug, hold the housing again. Never pull the wire."
        ),
    ),
    (
        "page.cells",
        "Cells",
        _(
            "- Look at the plus and minus signs and put the cells in that way round. The wrong way"
            " round can damage the amplifier.\n"
            "- Two fresh cells give about 3 V, rechargeable ones a little less. Above 2.5 V all is"
            " in order.\n"
            "- No trace at all means that the cells are flat. A trace that behaves oddly means that"
            " they are weak: recharge them then, all of them together.\n"
            "- Charge only rechargeable cells, and only in the charger that came with the kit.\n"
            "- Switch off after each session, and take the cells out if you pause for a week."
        ),
    ),
    (
        "page.skin",
        "Preparing the skin",
        _(
            "- Wash the places with water and a little soap, and dry them well.\n"
            "- Leave out cream and oil on the days of a session.\n"
            "- Wipe each place once with a swab from the kit and let it dry in the air.\n"
            "- Long hair under an electrode keeps it from lying flat: choose a place beside it."
        ),
    ),
    (
        "page.electrodes",
        "Gel electrodes first, dry ones later",
        _(
            "- Begin with the gel electrodes: they stick by themselves and forgive small mistakes."
            " Each is used once, then it goes into your own bin.\n"
            "- Close the bag of gel electrodes again after each session, or they dry out.\n"
            "- When placing them has become easy, change to the dry electrodes in their band."
            " Moisten them with a drop of water and pull the band snug, not tight.\n"
            "- Wipe dry electrodes clean after each session. They come back to us."
        ),
    ),
    (
        "page.wrist",
        "On the wrists and forearms",
        _(
            "- Put one active electrode on the inner side of each forearm, a hand's width below"
            " the elbow, where you feel the muscle when you clench the fist.\n"
            "- Put the ground on the bony part of one wrist.\n"
            "- The ground must touch neither of the active electrodes, nor their gel.\n"
            "- Rest the arms on a table: the trace should fall. Clench a fist: it should rise."
        ),
    ),
    (
        "page.forehead",
        "On the forehead",
        _(
            "- Put one active electrode above the middle of each eyebrow, about two fingers"
            " up.\n"
            "- Put the ground between them, or on the bone behind one ear. It must touch neither"
            " of the active electrodes.\n"
            "- Raise the eyebrows: the trace should rise. Let the forehead go smooth: it should"
            " fall."
        ),
    ),
    (
        "page.care",
        "Looking after the kit",
        _(
            "- Lay the leads in loose loops, as wide as your hand. No tight coils, no knots, not"
            " round the box: a kink spoils the signal for good.\n"
            "- Carry and unplug by the housing, never by the wire.\n"
            "- Keep every bag, even an empty one, and the box: the kit travels back in them.\n"
            "- Keep the licence key in its bag whenever it is not plugged in. It is small, and it"
            " is the part that is lost most easily.\n"
            "- Keep everything dry, away from heat, animals and small children."
        ),
    ),
)
_ARRIVAL = _(
    "Please lay everything out and compare it with this list on the day the parcel comes. What you"
    " report here as missing is never charged to you. Damage that you report now is not charged to"
    " you either."
)
_RETURN = _(
    "- Take the cells out of the amplifier and put them into their own bag.\n"
    "- Wipe dry electrodes and bands clean. Used gel electrodes and swabs go into your own bin.\n"
    "- Unplug the leads by their housings and lay them in loose loops.\n"
    "- Put each part into the bag it came in. Keep nothing back: every bag and the licence key"
    " travel too.\n"
    "- Do not post cells that leak, are swollen or were damaged. Write to us instead.\n"
    "- Close the box the kit came in, put the return sheet inside, and keep the receipt from the"
    " post until we have written to you."
)

#: Names of the texts in Setup, and the usual words of each, spoken in the language at hand.
USE_KEYS = tuple(key for key, _name, _words in _USE)
ARRIVAL_KEY = "page.arrival"
RETURN_KEY = "page.return"
PAGE_NAMES: dict[str, str] = {
    **{key: name for key, name, _words in _USE},
    ARRIVAL_KEY: "When the parcel has arrived",
    RETURN_KEY: "Sending the kit back",
}
PAGE_TEXTS: dict[str, Promise] = {
    **{key: words for key, _name, words in _USE},
    ARRIVAL_KEY: _ARRIVAL,
    RETURN_KEY: _RETURN,
}
#: What stands above each text on how to use the kit.
USE_HEADINGS: dict[str, Promise] = {
    "page.cautions": _("Before you begin"),
    "page.leads": _("Plugging in the leads"),
    "page.cells": _("Cells"),
    "page.skin": _("Preparing the skin"),
    "page.electrodes": _("Gel electrodes first, dry ones later"),
    "page.wrist": _("On the wrists and forearms"),
    "page.forehead": _("On the forehead"),
    "page.care": _("Looking after the kit"),
}
