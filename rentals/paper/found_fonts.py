"""Open fonts that this machine has beyond those that come with Kitdesk: the optional package with
Chinese, Japanese and Korean, and the Noto families of the system.
"""

import os
import sys
from collections.abc import Iterator
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

#: The optional package of the registry, and the one of a Debian system, that bring Chinese,
#: Japanese and Korean.
EAST_ASIAN_PACKAGE = "noto-cjk-sans-otc"
EAST_ASIAN_SYSTEM_PACKAGE = "fonts-noto-cjk"
#: The package of a Debian system that brings most other scripts.
OTHER_SCRIPTS_PACKAGE = "fonts-noto-core"

_EAST_ASIAN_STARTS = ("NotoSansCJK", "NotoSansJP", "NotoSansKR", "NotoSansSC", "NotoSansTC")
_SUFFIXES = (".ttf", ".otf", ".ttc", ".otc")
_NOT_FOR_TEXT = ("Mono", "UI-", "Display", "Bold", "Italic", "Light", "Thin", "Black", "Medium")


@lru_cache(maxsize=1)
def east_asian_files() -> tuple[Path, ...]:
    """Files with Chinese, Japanese and Korean, the package's first."""
    of_system = (path for path in _noto_files() if path.name.startswith(_EAST_ASIAN_STARTS))
    return (*_packaged(), *of_system)


@lru_cache(maxsize=1)
def other_files() -> tuple[Path, ...]:
    """Files with the other scripts that the system has."""
    return tuple(path for path in _noto_files() if not path.name.startswith(_EAST_ASIAN_STARTS))


def _packaged() -> list[Path]:
    spec = find_spec(EAST_ASIAN_PACKAGE.replace("-", "_"))
    folders = spec.submodule_search_locations if spec else None
    return [path for folder in folders or () for path in sorted(Path(folder).glob("*.tt?"))]


@lru_cache(maxsize=1)
def _noto_files() -> tuple[Path, ...]:
    """Regular faces of the Noto Sans families, in order of their names."""
    paths = {path.name: path for folder in _folders() for path in _fonts_under(folder)}
    return tuple(paths[name] for name in sorted(paths))


def _fonts_under(folder: Path) -> Iterator[Path]:
    for place, _, names in os.walk(folder):
        for name in names:
            if not (name.startswith("NotoSans") and name.endswith(_SUFFIXES)):
                continue
            if not any(word in name for word in _NOT_FOR_TEXT):
                yield Path(place, name)


def _folders() -> list[Path]:
    """Where a system keeps its fonts."""
    home = Path.home()
    if sys.platform == "win32":
        local = os.environ.get("LOCALAPPDATA", str(home))
        return [
            Path(os.environ.get("WINDIR", "C:/Windows"), "Fonts"),
            Path(local, "Microsoft", "Windows", "Fonts"),
        ]
    if sys.platform == "darwin":
        return [Path("/Library/Fonts"), home / "Library" / "Fonts"]
    return [
        Path("/usr/share/fonts"),
        Path("/usr/local/share/fonts"),
        home / ".fonts",
        home / ".local" / "share" / "fonts",
    ]
