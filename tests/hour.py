"""By day a test of many takes a part of them; all are taken by night, with the gate's --nightly."""

import os

BY_NIGHT = os.environ.get("KITDESK_COVERAGE") == "1"


def most(by_day: int, by_night: int) -> int:
    """How many of them this hour."""
    return by_night if BY_NIGHT else by_day
