"""A missing fact is asked, exactly that one; the answer is taken and the file scored; nothing is
guessed.
"""

import pytest
from django.urls import reverse

from readiness.actions.answer import answer_question, score_again
from readiness.actions.upload import store_upload
from readiness.forms.bench import AnswerForm
from readiness.models import Capture
from rentals.errors import Refused
from tests.factories import complete_kit
from tests.readiness.captures import capture_bytes, capture_file

pytestmark = pytest.mark.django_db


@pytest.fixture
def kit():
    return complete_kit(cleared=False)


def dropped(name, data):
    return store_upload([capture_file(name, data)]).captures.get()


def without(kit, *keys, test="still", name="capture.csv"):
    return dropped(name, capture_bytes(test, kit=kit.code, drop=keys))


CASES = [
    (("kit",), "kit", ["kit"]),
    (("test",), "test", ["test"]),
    (("kit", "test"), "kit test", ["kit", "test"]),
    (("rate_hz",), "rate", ["rate"]),
    (("unit", "resolution", "range"), "unit", ["unit"]),
]


@pytest.mark.parametrize(("keys", "missing", "fields"), CASES)
def test_exactly_the_missing_fact_is_asked(kit, keys, missing, fields):
    capture = without(kit, *keys)
    assert (capture.status, capture.missing) == ("asking", missing)
    assert capture.refusal
    assert list(AnswerForm(capture).fields) == fields


def test_each_fact_answered_scores_the_file(kit):
    rate = capture_bytes("still").split(b"rate_hz: ")[1].split(b"\n")[0]
    answers = {
        ("kit",): {"kit": kit},
        ("test",): {"test": "still"},
        ("rate_hz",): {"rate_hz": float(rate)},
        ("unit", "resolution", "range"): {"unit": "uV"},
    }
    for seed, (keys, facts) in enumerate(answers.items(), start=20):
        capture = dropped("capture.csv", capture_bytes("still", kit=kit.code, seed=seed, drop=keys))
        answer_question(capture, facts)
        capture.refresh_from_db()
        assert (capture.status, capture.kit, capture.test) == ("scored", kit, "still"), keys


def test_an_answer_goes_before_what_file_and_name_say(kit):
    other = complete_kit(cleared=False)
    capture = dropped(f"{other.code} flex.csv", capture_bytes("still", kit=kit.code))
    answer_question(capture, {"kit": other, "test": "still"})
    capture.refresh_from_db()
    assert (capture.kit, capture.test, capture.status) == (other, "still", "scored")
    assert capture.declared == {"kit": other.code, "test": "still"}


def test_a_longer_recording_asks_which_ten_seconds(kit):
    rate = int(float(capture_bytes("still").split(b"rate_hz: ")[1].split(b"\n")[0]))
    head, rows = capture_bytes("still", kit=kit.code).split(b"emg\n")
    long = head + b"emg\n" + rows + b"\n".join(rows.split(b"\n")[: 5 * rate]) + b"\n"
    capture = dropped("long.csv", long)
    assert (capture.status, capture.missing) == ("asking", "window")
    answer_question(capture, {"window_start_s": 0.0})
    capture.refresh_from_db()
    assert capture.status == "scored"
    assert capture.verdicts.get().result["duration_s"] == 10


def test_an_empty_answer_is_refused(kit):
    capture = without(kit, "kit")
    with pytest.raises(Refused, match="Answer what is asked"):
        answer_question(capture, {"kit": None})


def test_a_scored_file_takes_no_answer(kit):
    capture = without(kit)
    with pytest.raises(Refused, match="nothing to answer"):
        answer_question(capture, {"test": "flex"})


def test_a_file_in_work_is_not_scored_beside_it(kit):
    capture = without(kit)
    Capture.objects.filter(pk=capture.pk).update(status="scoring", claimed_at=capture.taken)
    with pytest.raises(Refused, match="being scored"):
        score_again(capture)


def post(client, capture, facts, **more):
    data = {f"c{capture.pk}-{name}": value for name, value in facts.items()}
    return client.post(reverse("readiness:capture_answer", args=[capture.pk]), {**data, **more})


def test_the_form_takes_a_typed_code_and_goes_back_to_the_drop(signed_in, kit):
    capture = without(kit, "kit")
    drop = capture.upload.get_absolute_url()
    answer = post(signed_in, capture, {"kit": f" {kit.code.lower()} "}, next=drop)
    assert (answer.status_code, answer.url) == (302, drop)
    capture.refresh_from_db()
    assert capture.kit == kit


def test_a_wrong_code_is_said_beside_its_field_and_what_was_typed_stays(signed_in, kit):
    capture = without(kit, "kit")
    answer = post(signed_in, capture, {"kit": "K0000"}, next=capture.upload.get_absolute_url())
    assert answer.status_code == 422
    html = answer.content.decode()
    assert "K0000" in html
    assert f"id_c{capture.pk}-kit_error" in html


def test_an_impossible_rate_is_said(signed_in, kit):
    capture = without(kit, "rate_hz")
    answer = post(signed_in, capture, {"rate": "7"})
    assert answer.status_code == 422
    assert "Give 250.0 or more" in answer.content.decode()
    capture.refresh_from_db()
    assert capture.status == "asking"


def test_questions_stand_on_the_page_of_the_drop(signed_in, kit):
    upload = store_upload(
        [
            capture_file(f"{n}.csv", capture_bytes("still", seed=n, kit=kit.code, drop=keys))
            for n, (keys, _, _) in enumerate(CASES)
        ]
    )
    html = signed_in.get(upload.get_absolute_url()).content.decode()
    assert html.count("Score with this") == len(CASES)


def test_an_answer_sent_twice_is_taken_once(signed_in, kit):
    capture = without(kit, "kit")
    key = "6f0d7f3e-4f4e-4f0e-9d5e-0d6f1c2b3a4d"
    first = post(signed_in, capture, {"kit": kit.code}, form_key=key)
    again = post(signed_in, capture, {"kit": kit.code}, form_key=key)
    assert first.status_code == again.status_code == 302
    assert capture.verdicts.count() == 1
