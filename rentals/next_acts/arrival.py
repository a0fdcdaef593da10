"""What is next with a parcel in which something lacked on arrival."""

from __future__ import annotations

from .ways import Argument, Way

SEE_TO_ARRIVAL = Way("See to it", "rentals:loan_arrival_answer", Argument.LOAN)
