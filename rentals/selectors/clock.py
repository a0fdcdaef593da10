"""Whether this machine's clock stands where the events on file say that it must."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db.models import Min
from django.utils import timezone

from rentals.dates import short_moment
from rentals.models import Event

#: Machines that share a database differ by no more than this.
CLOCKS_APART = timedelta(minutes=2)
#: For so long the owner is told, counted in acts of the clock that goes now.
TOLD_FOR = timedelta(days=7)


def clock_set_back(now: datetime | None = None) -> str:
    """A sentence for the owner where the newest event is dated ahead of now; empty where none is,
    and once the desk has been at work for a week by the clock that goes now.
    """
    now = now or timezone.now()
    newest = Event.objects.order_by("-at").only("pk", "at").first()
    if newest is None or newest.at <= now + CLOCKS_APART:
        return ""
    since = Event.objects.filter(pk__gt=newest.pk).aggregate(first=Min("at"))["first"]
    if since is not None and now - since > TOLD_FOR:
        return ""
    clock, dated = (short_moment(timezone.localtime(at)) for at in (now, newest.at))
    return (
        f"The clock of this machine says {clock}, but the newest act on file is of {dated}. If the"
        " clock is wrong now, set it right. If it was wrong then, nothing is lost: all acts stay in"
        " the order in which they were done, but days written down at that time may be wrong."
    )
