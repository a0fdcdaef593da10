"""The trees of help by symptom, in the order in which a student finds them.

What costs nothing and is most often the cause comes first; what tells two causes apart comes before
what mends one of them. Cautions end a way at once: a kit that is not safe is not tried any further.
"""

from __future__ import annotations

from rentals.planning.guide_steps import GuideEnd, GuideStep, SymptomTree, looked, tried

WIRE, CHARGER, CELL = "wire", "charger", "cell"
"""Keys of the cautions: bare wire, a wet or broken charger, a hot or leaking cell."""

SEND_TRACE = "send_trace"
_SEND = GuideStep(SEND_TRACE, GuideEnd.SOLVED, GuideEnd.REPORT, GuideEnd.REPORT, sends_trace=True)
_LOOK_AT_LEADS = looked("look_leads", yes=GuideEnd.STOP, no=SEND_TRACE, caution=WIRE)


def _tree(symptom: str, *steps: GuideStep) -> SymptomTree:
    return SymptomTree(symptom, steps[0].key, {step.key: step for step in steps})


_TREES = (
    _tree(
        "flat",
        tried("switched_on", "program_sees"),
        tried("program_sees", "cells_way"),
        tried("cells_way", "cells_fresh", caution=CELL),
        tried("cells_fresh", "plugs_in", caution=CHARGER),
        tried("plugs_in", "look_leads"),
        _LOOK_AT_LEADS,
        _SEND,
    ),
    _tree(
        "high",
        tried("rest_minute", "laptop_battery"),
        tried("laptop_battery", "ground_off"),
        # Without its ground a sound kit reads higher; where nothing changes, the ground was open.
        looked("ground_off", yes="ground_on", no="electrodes_new", could_not="ground_on"),
        tried("ground_on", "electrodes_new"),
        tried("electrodes_new", "skin"),
        tried("skin", "phone_away"),
        tried("phone_away", "other_place"),
        tried("other_place", "look_leads"),
        _LOOK_AT_LEADS,
        _SEND,
    ),
    _tree(
        "hum",
        tried("laptop_battery", "charger_off"),
        tried("charger_off", "ground_off", caution=CHARGER),
        looked("ground_off", yes="ground_on", no="cables_apart", could_not="ground_on"),
        tried("ground_on", "cables_apart"),
        tried("cables_apart", "electrodes_new"),
        tried("electrodes_new", "other_place"),
        tried("other_place", "look_leads"),
        _LOOK_AT_LEADS,
        _SEND,
    ),
    _tree(
        "jumps",
        tried("tape_leads", "move_a"),
        looked("move_a", yes="swap_ends", no="move_b"),
        looked("move_b", yes="swap_ends", no="move_ground"),
        looked("move_ground", yes="ground_on", no="plugs_in"),
        # The jump stays with the lead, or it goes with the electrode.
        looked("swap_ends", yes="look_leads", no="electrodes_new", could_not="electrodes_new"),
        tried("ground_on", "look_leads"),
        tried("plugs_in", "electrodes_new"),
        tried("electrodes_new", "skin"),
        tried("skin", "look_leads"),
        _LOOK_AT_LEADS,
        _SEND,
    ),
    _tree(
        "one_wrist",
        tried("plugs_in", "sockets"),
        tried("sockets", "swap_sides"),
        # The dead side goes with the lead, or it stays with the skin and the electrode.
        looked("swap_sides", yes="look_leads", no="electrodes_new"),
        tried("electrodes_new", "skin"),
        tried("skin", "placement"),
        tried("placement", "look_leads"),
        _LOOK_AT_LEADS,
        _SEND,
    ),
    _tree(
        "cells",
        looked("cells_look", yes=GuideEnd.STOP, no="switch_off", caution=CELL),
        tried("switch_off", "charger_light"),
        looked("charger_light", yes="charger_socket", no="charge_full", caution=CHARGER),
        tried("charger_socket", "charge_full", caution=CHARGER),
        tried("charge_full", "cells_fresh"),
        tried("cells_fresh", GuideEnd.REPORT, caution=CELL),
    ),
)

TREES: dict[str, SymptomTree] = {tree.symptom: tree for tree in _TREES}
"""Every tree by its symptom."""
