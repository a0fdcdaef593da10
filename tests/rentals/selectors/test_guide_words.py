"""The words of the steps."""

import pytest

from rentals.models import OwnStep, StudentText
from rentals.planning.guide_steps import tried
from rentals.planning.guide_trees import TREES
from rentals.selectors.guide_words import guide_words
from rentals.speaking import speaking

pytestmark = pytest.mark.django_db


def test_a_step_has_its_question_caution_and_answers_and_an_own_one_the_owners_words():
    own = OwnStep.objects.create(symptom="hum", title="Call", to_try="Call us.", rules_out="Us.")
    words = guide_words()
    look = words.step(TREES["cells"].steps["cells_look"])
    assert look.question.endswith("broken?") and "hot" in look.caution
    assert [text for _, text in look.answers] == ["Yes", "No", "I could not do this"]
    mine = words.step(tried(own.key, "end.report"))
    assert (mine.title, mine.to_try, mine.rules_out) == ("Call", "Call us.", "Us.")
    assert mine.question == "Did it help?"
    assert words.title("own.999") == ""


def test_the_owners_words_go_before_the_usual_ones_in_their_language():
    StudentText.objects.create(key="guide.symptom.hum.title", language="de", body="Es brummt sehr")
    with speaking("de-at"):
        assert guide_words().symptom("hum") == "Es brummt sehr"
    assert guide_words().symptom("hum") == "The trace hums"
