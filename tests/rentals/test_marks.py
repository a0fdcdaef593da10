"""Every state has a tone and a shape of its own family."""

import pytest
from django.db.models import TextChoices

from rentals import states
from rentals.marks import FAMILIES, SHAPES, Sign, mark_in, mark_of
from rentals.states import KitState, MessageState

SHOWN_AS_A_WORD_ONLY = {states.ShortfallKind, states.PartEnd, states.StepKind}
TONES = {"ready", "due", "away", "warn", "wrong", "quiet"}
MEMBERS = [member for family in FAMILIES for member in family]


def test_every_class_of_states_has_a_family_and_every_member_a_look():
    classes = {
        value
        for value in vars(states).values()
        if isinstance(value, type) and issubclass(value, TextChoices) and value is not TextChoices
    }
    assert set(FAMILIES) == classes - SHOWN_AS_A_WORD_ONLY | {Sign}
    for family, looks in FAMILIES.items():
        assert [(type(key), key) for key in looks] == [(family, key) for key in family]


@pytest.mark.parametrize("member", MEMBERS, ids=lambda member: f"{type(member).__name__}.{member}")
def test_a_mark_says_the_words_of_its_state(member):
    mark = mark_of(member)
    assert mark.word == member.label and mark.tone in TONES and mark.path == SHAPES[mark.shape]
    assert mark_of(member, "other words").word == "other words"


def test_a_state_without_a_look_is_an_error():
    with pytest.raises(ValueError, match="brand_new"):
        mark_of("brand_new")
    with pytest.raises(KeyError):
        mark_in({}, KitState.AWAY)


def test_states_of_two_families_with_one_word_keep_apart():
    assert mark_of(states.PartPlace.RETIRED) == mark_of(KitState.RETIRED)
    assert mark_of(states.ReturnOutcome.OPEN).word == "not looked at"
    assert mark_of(states.ShortfallState.OPEN).word == "open"
    assert mark_of(states.LoanStage.LOST).word == "kit lost"


def test_within_a_tone_no_two_states_of_one_family_share_a_shape():
    for family in (KitState, MessageState):
        looks = [FAMILIES[family][state] for state in family if state != MessageState.SENDING]
        assert len(looks) == len(set(looks))
