"""Whose capture it is: the kit and the test, by answer, header, or file name; asked where they do
not agree. Pure: no rows are looked up here.

An answer given on screen goes first, then the file's header, then its name; last, the kit on whose
page it was dropped and the test it was sent for. Header and name that differ are asked, never
chosen between; so is a file that came with the round of another kit than it names. To that round a
silent file is only proposed (``readiness.intake.proposing``).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from readiness.intake.matching import read_name
from rentals.codes import NotACode, grouped, parse_code


@dataclass(frozen=True)
class Clues:
    """What speaks for the kit and the test of a file: its name, its header, and what was declared
    on screen.
    """

    file_name: str
    header_kit: str | None = None
    header_test: str | None = None
    declared: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Question:
    """What must be asked: ``missing`` is "kit", "test" or both ("kit test"); ``sentence`` says
    why.
    """

    missing: str
    sentence: str


SILENT = {
    "kit": "Neither the file nor its name says which kit this is.",
    "test": "Neither the file nor its name says which test this is.",
}
"""What is asked where nothing at all speaks for a kit, or for a test."""


def kit_code_of(clues: Clues) -> str | Question:
    """The code of the kit that the clues speak for, or what must be asked."""
    if answer := clues.declared.get("kit"):
        return answer
    name_facts = read_name(clues.file_name)
    try:
        header_code = parse_code(clues.header_kit) if clues.header_kit else None
    except NotACode as wrong:
        return Question("kit", f"The kit code in the file cannot be right. {wrong.sentence}")
    if header_code and name_facts.kit and header_code != name_facts.kit:
        return Question(
            "kit",
            f"The file says kit {grouped(header_code)}, its name says {grouped(name_facts.kit)}."
            " Which is it?",
        )
    if code := header_code or name_facts.kit:
        return _unless_of_another_round(code, clues)
    if name_facts.kit_doubt:
        return Question("kit", name_facts.kit_doubt)
    if page_kit := clues.declared.get("page_kit"):
        return page_kit
    return Question("kit", SILENT["kit"])


def _unless_of_another_round(code: str, clues: Clues) -> str | Question:
    """The code, or a question where the file was dropped with the guided round of another kit."""
    round_kit = clues.declared.get("round_kit")
    if not round_kit or code == round_kit or not clues.declared.get("only_this_round"):
        return code
    says = "The file says" if clues.header_kit else "Its name says"
    return Question(
        "kit",
        f"{says} kit {grouped(code)}, and it came with the round of kit {grouped(round_kit)}."
        " Which is it?",
    )


def test_of(clues: Clues) -> str | Question:
    """The test that the clues speak for, or what must be asked."""
    if answer := clues.declared.get("test"):
        return answer
    name_facts = read_name(clues.file_name)
    header_test = clues.header_test
    if header_test and name_facts.test and header_test != name_facts.test:
        return Question(
            "test",
            f"The file says it is the test {header_test}, its name says {name_facts.test}."
            " Which is it?",
        )
    if test := header_test or name_facts.test:
        return test
    if name_facts.test_doubt:
        return Question("test", name_facts.test_doubt)
    if page_test := clues.declared.get("page_test"):
        return page_test
    return Question("test", SILENT["test"])


def no_such_kit(code: str) -> Question:
    """What must be asked where a code is right and no kit of the desk has it."""
    return Question("kit", f"There is no kit {grouped(code)} at this desk. Which kit is it?")


def asked_together(questions: list[Question]) -> Question:
    """One question made of several."""
    return Question(
        " ".join(question.missing for question in questions),
        " ".join(question.sentence for question in questions),
    )


def silent_question(missing: str) -> Question:
    """What is asked of a file that says nothing of the facts in ``missing`` ("kit test")."""
    return asked_together([Question(fact, SILENT[fact]) for fact in missing.split()])
