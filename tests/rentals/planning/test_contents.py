from dataclasses import dataclass

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rentals.planning.contents import (
    by_inner_bag,
    counted_lines,
    filled_lines,
    first_of_each_kind,
    free_places,
    lacking,
    parts_by_kind,
    pieces_to_pack,
)

#: Slow machines are no fault of the rule.
patient = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])


@dataclass(frozen=True)
class ListLine:
    part_kind: str
    name: str
    quantity: int = 1
    by_serial: bool = True
    inner_bag: str = ""


@dataclass(frozen=True)
class FittedPart:
    kind: str
    code: str
    damaged: bool = False
    damage_note: str = ""


AMPLIFIER = ListLine("amplifier", "Amplifier", inner_bag="pouch")
LEADS = ListLine("lead_set", "Lead set", 2, inner_bag="small bag")
BANDS = ListLine("band", "Band", 3, by_serial=False, inner_bag="pouch")
LIST = (AMPLIFIER, BANDS, LEADS)
COMPLETE = (
    FittedPart("lead_set", "P3"),
    FittedPart("amplifier", "P1"),
    FittedPart("lead_set", "P2"),
)

KINDS = st.sampled_from(["amplifier", "lead_set", "charger"])
NAMES = st.sampled_from(["Small", "Large"])
LISTS = st.lists(
    st.tuples(KINDS, NAMES, st.integers(1, 4), st.booleans()).map(lambda line: ListLine(*line)),
    max_size=6,
)
FITTED = st.lists(
    st.tuples(KINDS, st.integers(10, 99), st.booleans()).map(
        lambda part: FittedPart(part[0], f"P{part[1]}", part[2])
    ),
    max_size=12,
    unique_by=lambda part: part.code,
)
BAGGED = st.lists(
    st.sampled_from(["a", "b", ""]).map(lambda bag: ListLine("card", "Card", inner_bag=bag))
)


def test_a_complete_kit_lacks_nothing_and_counted_pieces_are_never_asked_for():
    assert lacking(LIST, COMPLETE) == []
    assert counted_lines(LIST) == [BANDS]


def test_what_lacks_is_named_with_how_many():
    assert lacking(LIST, ()) == [
        "Amplifier is missing: fit a spare.",
        "2 × Lead set is missing: fit a spare.",
    ]
    assert lacking(LIST, COMPLETE[1:]) == ["Lead set is missing: fit a spare."]


def test_what_is_damaged_is_named_with_its_code_and_note():
    bent = FittedPart("amplifier", "P1", damaged=True, damage_note="bent plug")
    worn = FittedPart("lead_set", "P2", damaged=True)
    assert lacking(LIST, (bent, worn, COMPLETE[0])) == [
        "Amplifier P1 is damaged (bent plug): swap it.",
        "Lead set P2 is damaged: swap it.",
    ]


def test_places_hold_the_parts_by_code_and_nothing_where_one_lacks():
    amplifier, leads = filled_lines(LIST, COMPLETE[:2])
    assert [part and part.code for part in amplifier.places] == ["P1"]
    assert [part and part.code for part in leads.places] == ["P3", None]
    assert (amplifier.short, leads.short) == (0, 1)


def test_a_part_too_many_is_shown_and_not_packed():
    extra = (*COMPLETE, FittedPart("amplifier", "P9"))
    assert len(filled_lines(LIST, extra)[0].places) == 2
    packed = [piece.part.code for piece in pieces_to_pack(LIST, extra) if piece.part]
    assert packed == ["P1", "P2", "P3"]


def test_two_lines_of_one_kind_share_its_parts_and_none_is_packed_twice():
    short, long = ListLine("lead_set", "Short leads"), ListLine("lead_set", "Long leads")
    pieces = pieces_to_pack((short, long), COMPLETE)
    assert [(piece.line.name, piece.part.code) for piece in pieces] == [
        ("Short leads", "P2"),
        ("Long leads", "P3"),
    ]
    assert lacking((short, long), COMPLETE[:1]) == ["Long leads is missing: fit a spare."]


def test_packing_follows_the_list():
    pieces = [(piece.line.name, piece.quantity) for piece in pieces_to_pack(LIST, COMPLETE)]
    assert pieces == [("Amplifier", 1), ("Band", 3), ("Lead set", 1), ("Lead set", 1)]


def test_room_is_what_the_list_wants_less_what_is_fitted():
    assert free_places(LIST, COMPLETE, "lead_set") == 0
    assert free_places(LIST, COMPLETE[1:], "lead_set") == 1
    assert free_places(LIST, (), "band") == 0
    assert free_places((), COMPLETE, "amplifier") == -1


def test_of_two_parts_of_a_kind_the_first_by_code_stands_for_it():
    assert first_of_each_kind(COMPLETE)["lead_set"].code == "P2"


def test_bags_come_in_the_order_in_which_packing_first_meets_them():
    card = ListLine("card", "Card", by_serial=False)
    bags = by_inner_bag((AMPLIFIER, LEADS, card, BANDS), loose="Loose in the box")
    assert list(bags) == ["pouch", "small bag", "Loose in the box"]
    assert bags["pouch"] == [AMPLIFIER, BANDS]
    assert list(by_inner_bag((card,))) == [""]


@patient
@given(LISTS, FITTED)
def test_no_part_has_two_places_and_none_of_a_wanted_kind_is_forgotten(lines, parts):
    filled = filled_lines(lines, parts)
    placed = [part.code for line in filled for part in line.parts]
    wanted_kinds = {line.part_kind for line in lines if line.by_serial}
    expected = [part.code for part in parts if part.kind in wanted_kinds]
    assert sorted(placed) == sorted(expected)


@patient
@given(LISTS, FITTED)
def test_each_line_and_its_parts_add_up(lines, parts):
    for filled in filled_lines(lines, parts):
        assert len(filled.going_out) + filled.short == filled.line.quantity
        assert len(filled.places) >= filled.line.quantity


@patient
@given(LISTS, FITTED)
def test_a_kit_lacks_something_exactly_where_a_place_is_free_or_a_part_damaged(lines, parts):
    kinds = {line.part_kind for line in lines if line.by_serial}
    room = any(free_places(lines, parts, kind) > 0 for kind in kinds)
    damaged = any(part.damaged and part.kind in kinds for part in parts)
    assert bool(lacking(lines, parts)) == (room or damaged)


@patient
@given(LISTS, FITTED)
def test_what_is_packed_follows_the_list_whatever_the_order_of_the_parts(lines, parts):
    pieces = pieces_to_pack(lines, parts)
    assert pieces == pieces_to_pack(lines, list(reversed(parts)))
    order = [id(line) for line in lines]
    places = [order.index(id(piece.line)) for piece in pieces]
    assert places == sorted(places)


@patient
@given(FITTED)
def test_parts_by_kind_loses_none(parts):
    kinds = parts_by_kind(parts)
    assert sorted(p.code for same in kinds.values() for p in same) == sorted(p.code for p in parts)
    for same_kind in kinds.values():
        assert [part.code for part in same_kind] == sorted(part.code for part in same_kind)


@patient
@given(BAGGED)
def test_every_line_is_in_exactly_one_bag_in_its_order(lines):
    bags = by_inner_bag(lines)
    assert sum(len(bag) for bag in bags.values()) == len(lines)
    for name, bag in bags.items():
        assert bag == [line for line in lines if line.inner_bag == name]
