"""The words of help by symptom, as they are before an owner changes one.

Every text has a key: ``guide.symptom.<symptom>.title`` and ``.hint``, ``guide.caution.<caution>``,
``guide.step.<step>.title``, ``.try``, ``.rules_out`` where it rules something out, and
``.question`` of steps that ask what shows.
"""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

Words = str | Promise

_SYMPTOMS: dict[str, tuple[Words, Words]] = {
    "flat": (_("The trace is flat"), _("A straight line, whatever you do.")),
    "high": (
        _("The reading is high and will not fall"),
        _("It stays high though your muscles rest."),
    ),
    "hum": (
        _("The trace hums"),
        _(
            "A thick, even band that does not follow your muscles. A little of it does not matter"
            " for the training."
        ),
    ),
    "jumps": (_("The trace jumps when I move"), _("Steps and spikes when an arm or a lead moves.")),
    "one_wrist": (
        _("It works on one wrist only"),
        _("One fist moves the trace, the other one does not."),
    ),
    "cells": (_("The cells are empty early"), _("Charged cells do not last as long as they did.")),
}

_CAUTIONS: dict[str, Words] = {
    "wire": _(
        "If you see bare wire, a cut or scorched insulation, switch the kit off, take it off and do"
        " not use it again."
    ),
    "charger": _(
        "Never use a charger that is wet, cracked or hot, and never wear the kit while it is"
        " charging."
    ),
    "cell": _(
        "If a cell is hot, swollen or leaking, do not touch it with bare hands. Switch off, leave"
        " it on a surface that does not burn, and do not use the kit again."
    ),
}

_STEPS: dict[str, tuple[Words, Words, Words]] = {
    "switched_on": (
        _("Switch it on"),
        _("Switch the amplifier off, wait ten seconds and switch it on again. Look for its light."),
        _("The amplifier was not off or asleep."),
    ),
    "program_sees": (
        _("Let the program find the kit"),
        _(
            "Unplug the amplifier from the computer and plug it in again, then choose it anew in"
            " the recording program."
        ),
        _("The program does listen to the kit."),
    ),
    "cells_way": (
        _("Look at the cells"),
        _(
            "Open the battery compartment. Compare each cell with the plus and minus signs beside"
            " it, and press each one home so that the springs touch."
        ),
        _("No cell was loose or the wrong way round."),
    ),
    "cells_fresh": (
        _("Put in other cells"),
        _(
            "Put in a full set of other cells, all of one kind and all freshly charged or new, the"
            " right way round."
        ),
        _("The cells were not to blame."),
    ),
    "plugs_in": (
        _("Press the plugs in"),
        _(
            "Take each plug by its housing, never by the wire, and press it into its socket until"
            " it stops."
        ),
        _("No plug was half out."),
    ),
    "look_leads": (
        _("Look along the leads"),
        _(
            "Let each lead run through your fingers, from the plug to the snap. Look for kinks,"
            " cuts and bare wire."
        ),
        _("No lead shows damage from outside."),
    ),
    "send_trace": (
        _("Send ten seconds of your trace"),
        _(
            "Put the kit on as for an exercise. Start a recording: five seconds with both arms"
            " resting, then five seconds with both fists clenched hard. Save it as a file and send"
            " it with the button below."
        ),
        "",
    ),
    "rest_minute": (
        _("Rest for a minute"),
        _(
            "Sit down, lay both forearms on the table and let your hands, shoulders and jaw go."
            " Watch the reading for a whole minute."
        ),
        _("It is not your own muscles that are still at work."),
    ),
    "laptop_battery": (
        _("Run the laptop on its battery"),
        _("Pull the laptop's power supply out of the laptop and out of the wall socket."),
        _("The laptop's power supply is not the source."),
    ),
    "charger_off": (
        _("Put the kit's charger away"),
        _("Pull the kit's charger out of the wall and carry it to another room."),
        _("The charger is not the source."),
    ),
    "ground_off": (
        _("Try it without the ground"),
        _(
            "Unsnap the ground lead from its electrode for a few seconds, look at the trace, then"
            " snap it on again."
        ),
        _("The ground does its work."),
    ),
    "ground_on": (
        _("Put the ground on anew"),
        _(
            "Give the ground a fresh electrode on clean skin, snap its lead on and press its plug"
            " in. It must touch neither of the other two electrodes."
        ),
        _("The ground was not loose or dry."),
    ),
    "electrodes_new": (
        _("Take new electrodes"),
        _(
            "Gel dries within days once its bag is open. Take new gel electrodes from a closed bag;"
            " moisten dry ones with a drop of water."
        ),
        _("The electrodes had not dried out."),
    ),
    "skin": (
        _("Clean the skin"),
        _(
            "Wash the places where the electrodes sit, rub them dry with a towel, leave out cream,"
            " and put the electrodes on again."
        ),
        _("Cream or dry skin is not in the way."),
    ),
    "phone_away": (
        _("Put phones away"),
        _("Carry phones, wireless earphones and watches at least two metres away."),
        _("No phone or watch disturbs the reading."),
    ),
    "other_place": (
        _("Go to another room"),
        _(
            "Try it in another room, away from lamps, heaters, electric blankets and cables in the"
            " wall."
        ),
        _("The room is not the source."),
    ),
    "cables_apart": (
        _("Keep the leads away from cables"),
        _(
            "Let the three leads run close together, loosely and without a coil, and keep them an"
            " arm's length away from every mains cable."
        ),
        _("The leads do not pick it up from a cable nearby."),
    ),
    "tape_leads": (
        _("Hold the leads still"),
        _(
            "Lay the leads loosely along the arm and fix them with a band or tape, so that they do"
            " not swing or pull at the electrodes."
        ),
        _("The leads were not pulling at the electrodes."),
    ),
    "move_a": (
        _("Move lead A alone"),
        _("Keep both arms still. Bend lead A gently along its length with the other hand."),
        _("Lead A is not where the jumps come from."),
    ),
    "move_b": (
        _("Move lead B alone"),
        _("Keep both arms still. Bend lead B gently along its length."),
        _("Lead B is not where the jumps come from."),
    ),
    "move_ground": (
        _("Move the ground lead alone"),
        _("Keep both arms still. Bend the ground lead gently along its length."),
        _("The ground lead is not where the jumps come from."),
    ),
    "swap_ends": (
        _("Swap the ends of A and B"),
        _(
            "Unsnap leads A and B and snap each on the other one's electrode. Then move the same"
            " lead once more."
        ),
        _("The lead is sound; the electrode is not."),
    ),
    "sockets": (
        _("Compare the sockets"),
        _("Compare each plug with the drawing: lead A, lead B and the ground each have a socket."),
        _("No plug was in another one's socket."),
    ),
    "swap_sides": (
        _("Swap the wrists"),
        _(
            "Unsnap leads A and B and snap each on the electrode of the other wrist. Clench one"
            " fist, then the other."
        ),
        _("The leads and their plugs are sound."),
    ),
    "placement": (
        _("Place the electrodes anew"),
        _(
            "Place the electrode of the weak side again, over the thick part of the forearm, as the"
            " set-up page shows it."
        ),
        _("The electrode was not beside the muscle."),
    ),
    "cells_look": (
        _("Look at cells and charger"),
        _("Switch off. Look at the cells and at the charger without touching them for long."),
        _("Cells and charger are sound to look at."),
    ),
    "switch_off": (
        _("Switch off after each session"),
        _("Switch the amplifier off after each session for two days, and see how long they last."),
        _("The kit was not left on."),
    ),
    "charger_light": (
        _("Watch the charger's light"),
        _("Put the cells into the charger, plug it in and look at its light."),
        _("The charger does charge."),
    ),
    "charger_socket": (
        _("Try another wall socket"),
        _("Plug the charger into another wall socket and press each cell home in it."),
        _("The wall socket was not dead, and no cell was loose in the charger."),
    ),
    "charge_full": (
        _("Charge them once to the end"),
        _(
            "Leave all cells in the charger until its light says that they are full, then use the"
            " kit for a session."
        ),
        _("The cells were not taken out too early."),
    ),
}

_QUESTIONS: dict[str, Words] = {
    "look_leads": _("Do you see bare wire, a cut or a crushed place?"),
    "ground_off": _("Does the trace stay as it is while the ground is off?"),
    "move_a": _("Does the trace jump when only lead A moves?"),
    "move_b": _("Does the trace jump when only lead B moves?"),
    "move_ground": _("Does the trace jump when only the ground lead moves?"),
    "swap_ends": _("Does the trace still jump when you move the same lead?"),
    "swap_sides": _("Has the weak side changed to the other wrist?"),
    "cells_look": _("Is a cell hot, swollen or leaking, or the charger wet or broken?"),
    "charger_light": _("Does the light stay dark?"),
}


def _by_key() -> dict[str, Words]:
    texts: dict[str, Words] = {}
    for symptom, (title, hint) in _SYMPTOMS.items():
        texts[f"guide.symptom.{symptom}.title"] = title
        texts[f"guide.symptom.{symptom}.hint"] = hint
    texts |= {f"guide.caution.{caution}": words for caution, words in _CAUTIONS.items()}
    for step, (title, to_try, rules_out) in _STEPS.items():
        texts[f"guide.step.{step}.title"] = title
        texts[f"guide.step.{step}.try"] = to_try
        if step in _QUESTIONS:
            texts[f"guide.step.{step}.question"] = _QUESTIONS[step]
        if rules_out:
            texts[f"guide.step.{step}.rules_out"] = rules_out
    return texts


GUIDE_TEXTS = _by_key()
"""The usual text of each key, in the language that is being spoken."""
