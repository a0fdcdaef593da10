"""A browser in plain words, from what it says of itself: enough to know one's own again, and no
more.
"""

_PROGRAMS = (
    ("Edg", "Edge"),
    ("OPR/", "Opera"),
    ("SamsungBrowser", "Samsung Internet"),
    ("Firefox/", "Firefox"),
    ("FxiOS", "Firefox"),
    ("CriOS", "Chrome"),
    ("Chrom", "Chrome"),
    ("Safari/", "Safari"),
)
_SYSTEMS = (
    ("iPhone", "an iPhone"),
    ("iPad", "an iPad"),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("Mac OS X", "a Mac"),
    ("CrOS", "a Chromebook"),
    ("Linux", "Linux"),
)


def browser_in_words(agent: str) -> str:
    """``Firefox on Windows``; what is not known is left out."""
    program = _first(_PROGRAMS, agent)
    system = _first(_SYSTEMS, agent)
    if not program and not system:
        return "An unknown browser"
    return f"{program or 'A browser'} on {system}" if system else program


def _first(known: tuple[tuple[str, str], ...], agent: str) -> str:
    return next((words for mark, words in known if mark in agent), "")
