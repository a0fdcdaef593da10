"""Domain refusals: sentences for the person at the desk, raised by actions and shown beside the
field they concern.
"""

from __future__ import annotations


class Refused(Exception):
    """The trade's rules do not allow this act now.

    Parameters
    ----------
    sentence : str
        What is wrong, where, and what to do; shown as it stands.
    field : str
        The form field it concerns, or empty for the act as a whole.
    """

    def __init__(self, sentence: str, *, field: str = "") -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.field = field
