"""The ready contents list holds what a kit of the trade holds, each thing tracked as is right."""

from rentals.models import SERIAL_KINDS, PartKind
from rentals.planning.contents_line import check_line
from rentals.planning.starter import STARTER_LINES


def test_it_holds_everything_a_kit_needs() -> None:
    kinds = [line.part_kind for line in STARTER_LINES]
    assert set(kinds) == set(PartKind.values) - {PartKind.CARD}
    assert kinds.count("electrodes") == 2 and kinds.count("band") == 2
    assert len({line.key for line in STARTER_LINES}) == len(STARTER_LINES)


def test_what_has_a_serial_is_known_by_it_and_what_expires_is_kept_by_batch() -> None:
    for line in STARTER_LINES:
        assert line.serial == (line.part_kind in SERIAL_KINDS)
        assert line.by_batch == (line.part_kind in ("electrodes", "swabs"))


def test_no_line_contradicts_itself() -> None:
    for line in STARTER_LINES:
        check_line(single_use=line.single_use, comes_back=line.comes_back, cleaned=line.cleaned)
    used_up = {line.name for line in STARTER_LINES if line.single_use}
    assert used_up == {"Gel electrodes", "Skin swabs"}
