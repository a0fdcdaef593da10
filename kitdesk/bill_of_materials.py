"""The bill of materials: every library that is installed, as a CycloneDX document."""

from __future__ import annotations

import re
import sys
import uuid
from datetime import UTC, datetime
from importlib.metadata import Distribution, distributions
from typing import Any

from kitdesk.bootstrap import lines_for
from kitdesk.library_lock import LockedLibrary, locked_libraries

SPECIFICATION = "1.6"
_CLASSIFIER = "License :: "
#: Longer is a whole licence, not its name.
_LONGEST_NAME = 80


def bill_of_materials(lock: str, at: datetime) -> dict[str, Any]:
    """What is installed where this runs: name, version, address as a package, licence, and the
    hashes of its files where the lock names this very version.

    Parameters
    ----------
    lock : str
        The text of the lock. What only the tests need is marked as excluded from the product.
    at : datetime
        When the bill is made; it must be aware.
    """
    locked = {library.name: library for library in locked_libraries(lock)}
    in_run = {library.name for library in locked_libraries(lines_for(lock, "run"))}
    installed = {_name(found): found for found in distributions()}
    return {
        "bomFormat": "CycloneDX",
        "specVersion": SPECIFICATION,
        "serialNumber": f"urn:uuid:{uuid.uuid4()}",
        "version": 1,
        "metadata": {
            "timestamp": at.astimezone(UTC).isoformat(timespec="seconds"),
            "component": {"type": "application", "bom-ref": "kitdesk", "name": "kitdesk"},
            "properties": [{"name": "python", "value": sys.version.split()[0]}],
        },
        "components": [
            _component(name, installed[name], locked.get(name), name in in_run)
            for name in sorted(installed)
        ],
    }


def _name(found: Distribution) -> str:
    return re.sub(r"[-_.]+", "-", found.metadata["Name"]).lower()


def _component(
    name: str, found: Distribution, locked: LockedLibrary | None, in_run: bool
) -> dict[str, Any]:
    version = found.version
    address = f"pkg:pypi/{name}@{version}"
    component: dict[str, Any] = {
        "type": "library",
        "bom-ref": address,
        "name": name,
        "version": version,
        "scope": "required" if in_run else "excluded",
        "purl": address,
    }
    if licences := _licences(found):
        component["licenses"] = licences
    if locked and _same(locked.version, version):
        component["hashes"] = [{"alg": "SHA-256", "content": each} for each in locked.hashes]
    return component


def _same(first: str, second: str) -> bool:
    """Whether two versions are one: 2.012 is 2.12."""
    return [part.lstrip("0") for part in first.split(".")] == [
        part.lstrip("0") for part in second.split(".")
    ]


def _licences(found: Distribution) -> list[dict[str, Any]]:
    """The licence as the library states it: by the usual expression, else by name."""
    about = found.metadata
    if "License-Expression" in about:
        return [{"expression": about["License-Expression"]}]
    classifiers = about.get_all("Classifier") or []
    names = [
        line.rsplit(" :: ", 1)[-1]
        for line in classifiers
        if line.startswith(_CLASSIFIER) and line != f"{_CLASSIFIER}OSI Approved"
    ]
    stated = about["License"].strip() if "License" in about else ""
    if not names and stated and len(stated.splitlines()[0]) <= _LONGEST_NAME:
        names = [stated.splitlines()[0]]
    return [{"license": {"name": name}} for name in dict.fromkeys(names)]
