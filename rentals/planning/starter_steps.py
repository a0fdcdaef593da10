"""Ready steps after a return, to begin with: each is kept, changed or taken off as the owner likes.

What a contents line says by itself (cleaned between users, put on charge) is not repeated here.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class StarterStep:
    """A ready step; `kind` is one of `rentals.states.StepKind`, and without a part kind it is for
    the kit as a whole.
    """

    kind: str
    words: str
    part_kind: str = ""


_THROW, _CLEAN, _CHARGE = "dispose", "clean", "charge"
STARTER_STEPS = (
    StarterStep(_THROW, "Throw away used electrodes and every open bag of them.", "electrodes"),
    StarterStep(_THROW, "Throw away opened swabs.", "swabs"),
    StarterStep(_CLEAN, "Wipe the leads along their length; let them dry uncoiled.", "lead_set"),
    StarterStep(_CLEAN, "Wipe the amplifier's housing, no liquid at its sockets.", "amplifier"),
    StarterStep(_CHARGE, "Look at the cells for leaks before they are charged.", "battery_pack"),
    StarterStep(_CLEAN, "Empty the box and its bags, and wipe them out."),
    StarterStep(_THROW, "Take the student's address off the box."),
)
