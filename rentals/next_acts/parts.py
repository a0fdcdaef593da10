"""What is next with a part."""

from __future__ import annotations

from rentals.states import PartPlace

from .ways import Argument, NextAct, Way

_MOVE_PART = Way("Move it", "rentals:part_move", Argument.PART)
_SEE_PART = Way("Open", "rentals:part", Argument.PART)
_OPEN_KIT = Way("Open kit", "rentals:kit", Argument.KIT)

PART_ACTS: dict[PartPlace, NextAct] = {
    PartPlace.FITTED: NextAct(_OPEN_KIT, _OPEN_KIT),
    PartPlace.SPARE: NextAct(None, _SEE_PART, "A sound spare: fit it from the page of a kit."),
    PartPlace.SENT: NextAct(None, _SEE_PART, "A student has it: it comes back with their kit."),
    PartPlace.MISSING: NextAct(_MOVE_PART, _SEE_PART),
    PartPlace.REPAIR: NextAct(_MOVE_PART, _SEE_PART),
    PartPlace.LOST: NextAct(_MOVE_PART, _SEE_PART),
    PartPlace.RETIRED: NextAct(_MOVE_PART, _SEE_PART),
}
