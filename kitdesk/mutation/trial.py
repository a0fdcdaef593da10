"""One trial: the tests of a module run against a faulty copy of it that exists in memory only.

Every trial is a process of its own, forked where the system can from one that has the libraries
loaded already. The files of the project are never touched.
"""

from __future__ import annotations

import importlib.abc
import importlib.util
import multiprocessing
import os
import sys
import tempfile
import time
from importlib.machinery import ModuleSpec
from multiprocessing.context import ForkServerContext, SpawnContext
from pathlib import Path
from types import ModuleType

from kitdesk.mutation.core import ROOT, CoreModule

LIBRARIES = [
    "pytest",
    "hypothesis",
    "numpy",
    "scipy.special",
    "django.db",
    "kitdesk.mutation.trial",
]
ALL_PASSED = 0
# The core needs neither Django nor the suite's fixtures, so neither is loaded.
PYTEST_WORDS = ("-x", "-q", "-c", os.devnull, "--rootdir", str(ROOT), "--noconftest")
PATIENCE_S = 20.0
"""Beside five times what the sound module takes: a fault may go round in circles."""


class _FaultySource(importlib.abc.MetaPathFinder, importlib.abc.InspectLoader):
    """Finds one module by its name and gives it another source."""

    def __init__(self, module: CoreModule, source: str) -> None:
        self.module, self._source = module, source

    def find_spec(
        self, fullname: str, path: object = None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        if fullname != self.module.name:
            return None
        return importlib.util.spec_from_file_location(fullname, self.module.path, loader=self)

    def get_source(self, fullname: str) -> str:
        return self._source


def _processes() -> ForkServerContext | SpawnContext:
    """Processes that share no rows, no threads and no imported module of the project with us."""
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(LIBRARIES)
    return context


class Trials:
    """Runs the tests of one module against its sound and its faulty sources."""

    def __init__(self, module: CoreModule, scratch: Path) -> None:
        """``scratch`` takes what the tests write.

        Raises RuntimeError when the tests do not pass on the sound module.
        """
        self.module, self._scratch = module, scratch
        self._processes = _processes()
        self.longest_s = 600.0
        began = time.monotonic()
        if not self.pass_with(module.path.read_text(encoding="utf-8")):
            raise RuntimeError(f"The tests of {module.name} do not pass as it stands.")
        self.longest_s = 5 * (time.monotonic() - began) + PATIENCE_S

    def pass_with(self, source: str) -> bool:
        """True when every test passes with this source: a fault that nobody noticed."""
        process = self._processes.Process(
            target=_run_tests, args=(self.module, source, str(self._scratch))
        )
        process.start()
        process.join(self.longest_s)
        if process.exitcode is None:
            process.kill()
            process.join()
        return process.exitcode == ALL_PASSED


def _run_tests(module: CoreModule, source: str, scratch: str) -> None:
    os.chdir(ROOT)
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    tempfile.tempdir = scratch
    silence = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silence, sys.stdout.fileno())
    os.dup2(silence, sys.stderr.fileno())
    sys.meta_path.insert(0, _FaultySource(module, source))
    import pytest

    sys.exit(int(pytest.main([*PYTEST_WORDS, *module.tests])))
