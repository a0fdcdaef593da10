"""What tests of long work share."""

from collections.abc import Callable

import pytest
from django.utils.module_loading import autodiscover_modules

import kitdesk.errands  # noqa: F401  (else the first errand imports it over what stands below)
from rentals.actions import errand_work
from rentals.actions.errand_work import ErrandFunction
from rentals.models import ErrandKind


@pytest.fixture
def nobody_works(settings) -> None:
    """Tasks are queued and wait."""
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}


@pytest.fixture
def work_is(monkeypatch) -> Callable[..., None]:
    """A check of the log, or work of another kind, does this instead."""

    def does(work: ErrandFunction, kind: ErrandKind = ErrandKind.VERIFY) -> None:
        # Else the first errand imports the functions over those that stand here.
        autodiscover_modules("errands")
        monkeypatch.setitem(errand_work._WORK, kind, work)

    return does
