"""One verdict from the stored results of a round, and the sentence that stands for it."""

from typing import Any

import pytest

from readiness.judgement.combining import OPEN, combine, title_of

PLAN = ("still", "flex", "lift")
LEADS = ["A", "B", "ground"]


def _finding(code: str, verdict: str, lead: str | None = None, **words: str) -> dict[str, Any]:
    facts = {"aspect": "continuity", "text": f"Text of {code}.", "action": f"Mend {code}"}
    return {"code": code, "lead": lead, "verdict": verdict, **facts, **words}


def _stored(test: str, *findings: dict[str, Any], **facts: Any) -> dict[str, Any]:
    worst = min((row["verdict"] for row in findings), default="fit", key=_rank)
    usual = {
        "test": test,
        "verdict": worst,
        "scores": {"continuity": 99.0, "noise": 98.0, "battery": 97.0},
        "findings": list(findings),
        "measurements": [],
        "proven": LEADS if test == "lift" else [],
        "mains_hz": 50.0,
    }
    return usual | facts


def _rank(verdict: str) -> int:
    return ("not fit", "retest", "note", "fit").index(verdict)


def _round(**stored: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """A round of sound captures, with those given in their place."""
    return {test: stored.get(test) or _stored(test) for test in PLAN}


def test_a_kit_that_passed_all_tests_of_its_plan_is_fit():
    judged = combine(_round(), PLAN)
    assert (judged.verdict, judged.sentence) == ("fit", "All tests of the plan passed.")
    assert (judged.findings, judged.missing) == ([], ())
    assert judged.proven == LEADS
    assert judged.scores == {"continuity": 99.0, "noise": 98.0, "battery": 97.0}


def test_a_kit_of_which_nothing_is_known_yet_is_open():
    judged = combine({}, PLAN)
    assert judged.verdict == OPEN == ""
    assert judged.missing == PLAN
    assert judged.sentence == "Still to be tested: still, flex, lift."


def test_a_kit_with_a_retest_is_no_longer_open():
    noisy = _stored("still", _finding("burst_noise", "retest", aspect="noise"))
    judged = combine({"still": noisy}, PLAN)
    assert judged.verdict == "retest"
    assert judged.sentence == "Noise in bursts (still): mend burst_noise. Text of burst_noise."


def test_a_score_that_falls_short_without_a_finding_is_a_retest_in_the_words_of_the_action():
    unsure = _stored("still", verdict="retest")
    judged = combine(_round(still=unsure), PLAN)
    assert judged.verdict == "retest"
    assert judged.sentence == "The bench is not sure of it: test again."


def test_a_fault_makes_the_kit_not_fit_and_takes_its_lead_from_those_proven():
    bent = _stored("flex", _finding("intermittent_lead", "not fit", "B", text="Jumps of 900 uV."))
    judged = combine(_round(flex=bent), PLAN)
    assert judged.verdict == "not fit"
    assert judged.proven == ["A", "ground"]
    assert judged.sentence == (
        "Intermittent lead B (flex): mend intermittent_lead. Jumps of 900 µV."
    )
    assert [(row["code"], row["test"]) for row in judged.findings] == [
        ("intermittent_lead", "flex")
    ]


def test_a_retest_of_a_lead_leaves_it_proven():
    unsure = _stored("flex", _finding("intermittent_lead", "retest", "B"))
    assert combine(_round(flex=unsure), PLAN).proven == LEADS


def test_a_sentence_names_what_speaks_for_the_verdict_only():
    still = _stored(
        "still",
        _finding("burst_noise", "retest", aspect="noise"),
        _finding("excess_noise", "not fit", aspect="noise"),
    )
    judged = combine(_round(still=still), PLAN)
    assert judged.sentence == "Too much noise (still): mend excess_noise. Text of excess_noise."


def test_a_sentence_names_three_findings_and_ends_at_five_hundred_characters():
    codes = ("excess_noise", "low_frequency_noise", "clipped", "stuck_bits")
    rows = [_finding(code, "not fit", aspect="noise") for code in codes]
    judged = combine(_round(still=_stored("still", *rows)), PLAN)
    named = [code for code in codes if f"mend {code}." in judged.sentence]
    assert named == list(codes[:3])
    long = _finding("excess_noise", "not fit", aspect="noise", text="x" * 900)
    assert len(combine(_round(still=_stored("still", long)), PLAN).sentence) == 500


class TestAnIntermittentLeadOnceSeen:
    def earlier(self, verdict: str = "not fit", code: str = "intermittent_lead") -> dict[str, Any]:
        return _stored("flex", _finding(code, verdict, "B", text="It jumped."))

    def test_stands_though_the_newest_capture_is_sound(self):
        judged = combine(_round(), PLAN, [self.earlier()])
        assert judged.verdict == "not fit"
        (row,) = judged.findings
        assert row["text"] == "Seen in an earlier capture of this round: It jumped."
        assert row["test"] == "flex"
        assert judged.proven == ["A", "ground"]

    def test_stands_before_what_else_is_found(self):
        still = _stored("still", _finding("burst_noise", "retest", aspect="noise"))
        judged = combine(_round(still=still), PLAN, [self.earlier()])
        assert [row["code"] for row in judged.findings] == ["intermittent_lead", "burst_noise"]

    def test_stands_once_however_often_it_was_seen(self):
        judged = combine(_round(), PLAN, [self.earlier(), self.earlier()])
        assert len(judged.findings) == 1

    def test_is_not_said_twice_when_the_newest_capture_shows_it_too(self):
        newest = _stored("flex", _finding("intermittent_lead", "not fit", "B", text="Again."))
        judged = combine(_round(flex=newest), PLAN, [self.earlier()])
        assert [row["text"] for row in judged.findings] == ["Again."]

    def test_stands_beside_an_unsure_one_of_today(self):
        newest = _stored("flex", _finding("intermittent_lead", "retest", "B"))
        judged = combine(_round(flex=newest), PLAN, [self.earlier()])
        assert [row["verdict"] for row in judged.findings] == ["not fit", "retest"]

    def test_that_was_unsure_does_not_stand_and_hides_none_behind_it(self):
        assert combine(_round(), PLAN, [self.earlier("retest")]).verdict == "fit"
        both = _stored(
            "flex",
            _finding("intermittent_lead", "retest", "A"),
            _finding("intermittent_lead", "not fit", "B"),
        )
        assert [row["lead"] for row in combine(_round(), PLAN, [both]).findings] == ["B"]

    def test_is_the_only_finding_that_stands(self):
        others = _stored(
            "flex",
            _finding("open_lead", "not fit", "A"),
            _finding("intermittent_lead", "not fit", "B"),
        )
        assert [row["lead"] for row in combine(_round(), PLAN, [others]).findings] == ["B"]


def test_a_finding_comes_from_the_test_that_says_the_same():
    first = _stored("still", _finding("excess_noise", "retest", aspect="noise", text="One."))
    second = _stored("flex", _finding("excess_noise", "not fit", aspect="noise", text="Two."))
    judged = combine(_round(still=first, flex=second), PLAN)
    assert [(row["text"], row["test"]) for row in judged.findings] == [("Two.", "flex")]


def test_a_finding_that_no_single_test_made_names_none():
    unproven = _stored("lift", proven=["A", "B"])
    judged = combine(_round(lift=unproven), PLAN)
    assert [(row["code"], row["lead"], row["test"]) for row in judged.findings] == [
        ("lead_unproven", "ground", "")
    ]


@pytest.mark.parametrize(
    ("code", "lead", "test", "title"),
    [
        ("intermittent_lead", "B", "flex", "Intermittent lead B (flex)"),
        ("open_lead", None, "still", "Open lead (still)"),
        ("leads_shorted", "A", "", "Leads shorted, lead A"),
        ("excess_noise", None, "", "Too much noise"),
    ],
)
def test_a_finding_in_few_words(code, lead, test, title):
    assert title_of({"code": code, "lead": lead, "test": test}) == title
    if not test:
        assert title_of({"code": code, "lead": lead}) == title
