"""Light or dark, as chosen for one browser; without a choice the device decides."""

from django.http import HttpRequest

THEME_COOKIE = "theme"
THEMES = {"light": "Light", "dark": "Dark"}
AS_THE_DEVICE = ("", "As the device")


def theme_of(request: HttpRequest) -> str:
    """The theme that this browser was given; empty where the device decides."""
    chosen = request.COOKIES.get(THEME_COOKIE, "")
    return chosen if chosen in THEMES else ""


def theme_choices(request: HttpRequest) -> list[dict[str, object]]:
    """What can be chosen, the present choice marked."""
    chosen = theme_of(request)
    words = [AS_THE_DEVICE, *THEMES.items()]
    return [{"value": value, "label": label, "current": value == chosen} for value, label in words]
