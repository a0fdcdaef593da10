"""Addresses of static files, each worked out once: every page names fifteen of them."""

from __future__ import annotations

from typing import Any

from whitenoise.storage import CompressedManifestStaticFilesStorage


class KeptStaticFiles(CompressedManifestStaticFilesStorage):
    """Files whose names hold their digests. The list of them is read once, at the start, so no
    address changes while a process lasts.
    """

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self._addresses: dict[str, str] = {}

    def url(self, name: str, force: bool = False) -> str:
        """As Django's. Raises ValueError for a file that is not among them."""
        if force:
            return super().url(name, force)
        if name not in self._addresses:
            self._addresses[name] = super().url(name)
        return self._addresses[name]
