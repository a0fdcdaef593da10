import sys

import pytest

from rentals.paper import found_fonts

pytestmark = pytest.mark.any_database


@pytest.fixture
def machine(tmp_path, monkeypatch):
    """A machine whose fonts are the files named by the test."""
    found_fonts._noto_files.cache_clear()
    monkeypatch.setattr(found_fonts, "_folders", lambda: [tmp_path])
    yield tmp_path
    found_fonts._noto_files.cache_clear()


def test_regular_faces_of_the_open_family_are_found_wherever_they_lie(machine):
    names = (
        "NotoSansCJK-Regular.ttc",
        "NotoSansCJK-Bold.ttc",
        "NotoSansMono-Regular.ttf",
        "NotoSansGeorgian-Regular.ttf",
        "Another.ttf",
        "NotoSansThai-Regular.txt",
    )
    for name in names:
        (machine / "deep" / "down").mkdir(parents=True, exist_ok=True)
        (machine / "deep" / "down" / name).touch()
    assert [path.name for path in found_fonts.east_asian_files.__wrapped__()][-1:] == [names[0]]
    assert [path.name for path in found_fonts.other_files.__wrapped__()] == [names[3]]


def test_the_optional_package_goes_before_the_system(machine, monkeypatch):
    package = machine / "noto_cjk_sans_otc"
    package.mkdir()
    (package / "__init__.py").touch()
    (package / "Brought.ttc").touch()
    monkeypatch.syspath_prepend(machine)
    sys.modules.pop("noto_cjk_sans_otc", None)
    assert found_fonts.east_asian_files.__wrapped__()[0] == package / "Brought.ttc"


@pytest.mark.parametrize("platform", ["linux", "darwin", "win32"])
def test_each_system_has_its_folders(platform, monkeypatch):
    monkeypatch.setattr(sys, "platform", platform)
    assert len(found_fonts._folders()) >= 2
