"""Which free kit is proposed to which student."""

from datetime import datetime, timedelta

from django.utils import timezone

from rentals.planning.free_kits import FreeKit, in_order, propose, why_no_kit


def test_cleared_kits_come_first_then_the_longest_rest() -> None:
    day = datetime(2026, 5, 1, tzinfo=timezone.get_current_timezone())
    kits = [
        FreeKit("K3", day - timedelta(days=90), "test it"),
        FreeKit("K2", day),
        FreeKit("K1", day - timedelta(days=30)),
        FreeKit("K9"),
        FreeKit("K8"),
    ]
    assert [kit.code for kit in in_order(kits)] == ["K8", "K9", "K1", "K2", "K3"]
    proposals = propose([7, 8, 9, 10, 11, 12], kits, {})
    assert [p.kit.code if p.kit else None for p in proposals] == [
        "K8",
        "K9",
        "K1",
        "K2",
        "K3",
        None,
    ]


def test_a_complete_kit_comes_before_one_that_lacks_a_part_and_all_is_said_against_both() -> None:
    lacking = FreeKit("K1", lacks=("Licence key is missing: fit a spare.",))
    both = FreeKit("K2", uncleared="test it", lacks=("Lead set is damaged: swap it.",))
    complete, ready = FreeKit("K3", uncleared="test it"), FreeKit("K4")
    assert in_order([both, lacking, complete, ready]) == [ready, complete, lacking, both]
    assert both.against == ("test it", "Lead set is damaged: swap it.")
    assert [kit.may_go_out for kit in (ready, complete, lacking)] == [True, False, False]


def test_no_kit_left_is_said_only_where_none_was_left() -> None:
    assert why_no_kit(typed=False, proposed=False) == "no kit left"
    assert why_no_kit(typed=False, proposed=True) == "left without a kit"
    for proposed in (False, True):
        said = why_no_kit(typed=True, proposed=proposed)
        assert said == "no kit recognised: check the code"


def test_what_is_set_aside_goes_to_whom_it_is_set_aside_for_and_to_nobody_else() -> None:
    kits = [FreeKit("K1"), FreeKit("K2", loans=4), FreeKit("K3", set_aside="Ada")]
    proposals = propose([1, 2, 3], kits, {2: "K2"})
    assert [p.kit.code if p.kit else None for p in proposals] == ["K1", "K2", None]


def test_no_other_kit_is_proposed_while_the_one_set_aside_is_not_here() -> None:
    first, second = propose([1, 2], [FreeKit("K1"), FreeKit("K2")], {1: "K9"})
    assert first.kit is None and second.kit is not None
    assert why_no_kit(typed=False, proposed=False, set_aside="K9") == (
        "K9 is set aside for this student, and cannot be assigned yet"
    )


def test_the_kit_lent_least_comes_first() -> None:
    kits = [FreeKit("K1", loans=2), FreeKit("K2", loans=1), FreeKit("K3", loans=3)]
    proposals = propose([1, 2], kits, {})
    assert {p.kit.code for p in proposals if p.kit} == {"K1", "K2"}


def test_the_kit_of_the_plan_is_proposed_and_where_it_is_away_another_fit_one() -> None:
    kits = [FreeKit(code) for code in ("K1", "K2", "K3", "K4")]
    proposals = propose([1, 2, 3, 4], kits, {}, {1: "K4", 2: "K9", 3: "K8"}, ["K1", "K3"])
    found = [(row.kit.code if row.kit else "", row.planned) for row in proposals]
    assert found == [("K4", ""), ("K2", "K9"), ("", "K8"), ("K1", "")]
    assert why_no_kit(typed=False, proposed=False, planned="K8") == (
        "the plan gives K8, which cannot be assigned yet"
    )
