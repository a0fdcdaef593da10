"""Days of a practice, counted from today."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.utils import timezone


class PracticeDays:
    """What the day is, and moments counted from it."""

    def __init__(self) -> None:
        self.today: date = timezone.localdate()

    def at(self, days: int, hour: float = 10.0) -> datetime:
        """A moment so many days from today, local time."""
        midnight = datetime.combine(self.day(days), datetime.min.time())
        return timezone.make_aware(midnight) + timedelta(hours=hour)

    def day(self, days: int) -> date:
        """The day so many days from today."""
        return self.today + timedelta(days=days)
