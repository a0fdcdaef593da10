"""Sound and vibration that follow a scan, switched on or off for one browser."""

from django.http import HttpRequest

SIGNALS_COOKIE = "signals"
SIGNALS_OFF = "off"


def signals_on(request: HttpRequest) -> bool:
    """Whether this browser tells by sound and vibration how a scan went: it does until switched
    off.
    """
    return request.COOKIES.get(SIGNALS_COOKIE) != SIGNALS_OFF
