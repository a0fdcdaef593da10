"""What a line of a contents list must not say."""

from __future__ import annotations

from rentals.errors import Refused


def check_line(*, single_use: bool, comes_back: bool, cleaned: bool) -> None:
    """Raise Refused, naming the field, where a contents line contradicts itself."""
    if single_use and comes_back:
        raise Refused(
            "A single-use part never comes back: untick one of the two.", field="comes_back"
        )
    if single_use and cleaned:
        raise Refused(
            "A single-use part is thrown away, not cleaned: untick one.",
            field="cleaned_between_users",
        )
