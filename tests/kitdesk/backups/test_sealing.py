"""Sealed with a pass phrase: whole and only with it, or not at all."""

from pathlib import Path

import pytest

from kitdesk.backups import sealing
from kitdesk.backups.problems import NotPossible

pytestmark = pytest.mark.any_database
PHRASE = "seven slow herons at low water"
MIB = 1024 * 1024


@pytest.fixture(autouse=True)
def quick(monkeypatch) -> None:
    """The work that guessing costs is not what is tried here."""
    monkeypatch.setattr(sealing, "_SCRYPT", {"n": 2**4, "r": 8, "p": 1})


def _sealed(tmp_path: Path, content: bytes) -> Path:
    plain, sealed = tmp_path / "plain", tmp_path / "sealed"
    plain.write_bytes(content)
    sealing.seal(plain, sealed, PHRASE)
    return sealed


@pytest.mark.parametrize("size", [0, 1, MIB - 1, MIB, MIB + 1, 3 * MIB])
def test_what_was_sealed_comes_back(tmp_path, size):
    content = bytes(number % 251 for number in range(size))
    sealed = _sealed(tmp_path, content)
    assert sealing.is_sealed(sealed)
    sealing.unseal(sealed, tmp_path / "again", PHRASE)
    assert (tmp_path / "again").read_bytes() == content


def test_nothing_of_the_content_shows(tmp_path):
    content = b"Mia Lindgren, Harbour Street 4 " * 400
    assert b"Lindgren" not in _sealed(tmp_path, content).read_bytes()


def test_another_phrase_opens_nothing(tmp_path):
    sealed = _sealed(tmp_path, b"content")
    with pytest.raises(NotPossible, match="pass phrase is another one"):
        sealing.unseal(sealed, tmp_path / "again", PHRASE + " ")


def _changed(kind: str, content: bytes) -> bytes:
    head = len(sealing.MAGIC) + 23
    piece = MIB + 16
    first, second, rest = (
        content[head : head + piece],
        content[head + piece : head + 2 * piece],
        content[head + 2 * piece :],
    )
    start = content[:head]
    return {
        "a bit": content[:-20] + bytes([content[-20] ^ 1]) + content[-19:],
        "cut at a piece": start + first + second,
        "cut inside": content[:-5],
        "swapped": start + second + first + rest,
        "left out": start + first + rest,
        "twice": start + first + first + second + rest,
        "another salt": content[:30] + bytes([content[30] ^ 1]) + content[31:],
        "longer": content + b"x",
    }[kind]


@pytest.mark.parametrize(
    "kind",
    [
        "a bit",
        "cut at a piece",
        "cut inside",
        "swapped",
        "left out",
        "twice",
        "another salt",
        "longer",
    ],
)
def test_what_was_changed_does_not_open(tmp_path, kind):
    sealed = _sealed(tmp_path, b"a" * (2 * MIB + 500))
    sealed.write_bytes(_changed(kind, sealed.read_bytes()))
    with pytest.raises(NotPossible):
        sealing.unseal(sealed, tmp_path / "again", PHRASE)
