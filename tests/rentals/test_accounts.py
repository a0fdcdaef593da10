"""Every kind of entry has its two accounts and its words."""

import pytest

from rentals.accounts import ACCOUNT_WORDS, KIND_WORDS, SIDES, Account, EntryKind

pytestmark = pytest.mark.any_database


def test_every_kind_but_the_reversal_moves_money_between_two_accounts():
    assert set(SIDES) == set(EntryKind) - {EntryKind.REVERSAL}
    assert all(debit is not credit for debit, credit in SIDES.values())


def test_every_kind_and_every_account_has_words_of_its_own():
    for words, members in ((KIND_WORDS, EntryKind), (ACCOUNT_WORDS, Account)):
        assert set(words) == set(members)
        assert len(set(words.values())) == len(members)
