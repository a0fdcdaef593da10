"""What tests of long work share."""

from collections.abc import Callable

import pytest

import kitdesk.errands  # noqa: F401  (else the first errand imports it over what stands below)
from rentals.actions import errand_work
from rentals.actions.errand_work import ErrandFunction
from rentals.models import ErrandKind


@pytest.fixture
def nobody_works(settings) -> None:
    """Tasks are queued and wait."""
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}


@pytest.fixture
def work_is(monkeypatch) -> Callable[[ErrandFunction], None]:
    """A check of the log does this instead."""
    return lambda work: monkeypatch.setitem(errand_work._WORK, ErrandKind.VERIFY, work)
