"""What a roster leaves open and a person must answer: cells that have moved, two students with one
address, somebody else's name on file.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from .addresses import folded
from .kinds import has_digit, is_part_of_a_street

#: Every question by its key, with the words of the tick that answers it.
ANSWERS = {
    "cells": "The fields of this row are right as they stand here",
    "moved": "The fields of this row are right as they stand here",
    "postal": "Yes, two people with one address",
    "name": "",  # Answered by what is chosen for the record.
}


@dataclass(frozen=True)
class RowQuestion:
    """One question about a row; an answer counts as long as its sentence stays the same."""

    key: str
    sentence: str
    answered: bool = False

    @property
    def answer(self) -> str:
        """Words of the tick; empty where the record's choice is the answer."""
        return ANSWERS[self.key]


@dataclass(frozen=True)
class Dweller:
    """Somebody at a postal address: where that is known from, in words, and who."""

    where: str
    name: str
    email: str


def postal_key(person: Mapping[str, str]) -> str:
    """What tells two postal addresses apart; empty where no street is known. Capitals, accents and
    punctuation do not.
    """
    street = folded(person["street"])
    town = folded(person["postcode"]) or folded(person["city"])
    return f"{street}|{town}" if street and town else ""


def overfull_question(cells: str, heads: str, whole: str) -> str:
    """Of a row with more cells than heads; `whole` is the cell that was put together, if any."""
    advice = "in the file put quotation marks around a cell that holds a comma"
    if whole:
        return (
            f"The row has {cells} for {heads}. “{whole}” was read as one cell: a comma in it has no"
            f" quotation marks. If that is wrong, put the fields right here, or {advice}."
        )
    return (
        f"The row has {cells} for {heads}, so the cells behind a comma may have moved. Put the"
        f" fields right here, or {advice} and give every column a head."
    )


def moved_question(person: Mapping[str, str]) -> str:
    """Of an address whose cells have moved by one, as an unquoted comma moves them; else empty."""
    postcode, city = person["postcode"], person["city"]
    odd = []
    if city and is_part_of_a_street(city):
        odd.append(f"“{city[:60]}” as the city looks like a part of the street")
    if postcode and not has_digit(postcode):
        odd.append(f"“{postcode[:60]}” as the postcode has no digit")
    if not odd:
        return ""
    return (
        f"{' and '.join(odd)}: a comma without quotation marks may have moved the cells. Put the"
        " fields right here."
    )


def postal_question(dweller: Dweller, name: str) -> str:
    """Of a second student at an address where somebody is already."""
    if folded(dweller.name) == folded(name):
        return (
            f"{dweller.name} ({dweller.where}) has the same name and postal address but the e-mail"
            f" address {dweller.email}. If that is the same person, write that e-mail address here"
            " or leave this row out. Are they two people?"
        )
    return (
        f"{dweller.name} ({dweller.where}) has the same postal address. Do both live there? Else"
        " put the address right here."
    )


def name_question(on_file: str, name: str) -> str:
    """Of an e-mail address that stands on file under another name; empty where the names agree but
    for spelling, order or a part left out.
    """
    known, comes = set(folded(on_file).split()), set(folded(name).split())
    if not known or not comes or known <= comes or comes <= known:
        return ""
    return (
        f"On file this e-mail address belongs to {on_file}. The same person: say below what happens"
        " with the record. Somebody else: write their own address here, for one address is one"
        " student."
    )
