"""The migrations one by one, without those that stand for many at once."""

import contextlib
from collections.abc import Iterator

import pytest
from django.db.migrations.loader import MigrationLoader

OWN = ("rentals", "readiness")


@contextlib.contextmanager
def the_whole_way() -> Iterator[None]:
    load = MigrationLoader.load_disk

    def without_short_cuts(loader: MigrationLoader) -> None:
        load(loader)
        for key, migration in list(loader.disk_migrations.items()):
            if key[0] in OWN and migration.replaces:
                del loader.disk_migrations[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(MigrationLoader, "load_disk", without_short_cuts)
        yield
