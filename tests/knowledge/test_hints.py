"""A hint is right or absent: a word of the trade is never taken for another one."""

from __future__ import annotations

import pytest

from expert.knowledge.hints import Called, hint_by_words

LISTS = [
    Called("liquid-drier-check-and-change", "Liquid drier, check and change"),
    Called("warm-case-triage", "Warm case: where to look first"),
    Called("condenser-and-head-pressure-cold", "Condenser and head pressure, cold weather"),
    Called("oil-system", "Oil system"),
]


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("oil-sistem", "oil-system"),
        ("drier", "liquid-drier-check-and-change"),
        ("warm case", "warm-case-triage"),
        ("wram-case", "warm-case-triage"),
        ("cold-case-triage", ""),  # 'cold' is a word, and no case list has it
        ("drain-check", ""),
        ("", ""),
        ("5 lb", ""),
    ],
)
def test_the_name_shares_every_word(typed: str, meant: str) -> None:
    said = f"Did you mean '{meant}'?" if meant else ""
    assert hint_by_words(typed, LISTS, ["drain"], by_id=True) == said


def test_without_entries_there_is_no_hint() -> None:
    assert hint_by_words("oil", []) == ""


def test_many_that_fit_alike_are_told_only_as_the_words_are_spelt() -> None:
    many = [Called(f"p{n}", f"suction pressure {name}") for n, name in enumerate("abcd")]
    assert hint_by_words("suction presure", many) == "Did you mean 'suction pressure'?"
    assert hint_by_words("suction pressure", many) == ""
