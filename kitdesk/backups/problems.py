"""What keeps a backup from being made or put back."""


class NotPossible(Exception):
    """The backup cannot be made or put back; the message says why and what to do."""
