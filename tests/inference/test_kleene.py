"""The three-valued logic is Kleene's strong one (Introduction to Metamathematics, section 64)."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from expert.inference.kleene import Truth, all_, any_, at_least, not_

VALUES: tuple[Truth, ...] = (False, None, True)
RANK: dict[Truth, int] = {False: 0, None: 1, True: 2}
TRUTHS = st.lists(st.sampled_from(VALUES), max_size=6)


@pytest.mark.parametrize(("a", "b"), list(itertools.product(VALUES, repeat=2)))
def test_and_is_the_lesser_and_or_the_greater(a: Truth, b: Truth) -> None:
    assert all_((a, b)) is min((a, b), key=lambda t: RANK[t])
    assert any_((a, b)) is max((a, b), key=lambda t: RANK[t])


@pytest.mark.parametrize(("a", "b"), [(True, False), (False, True), (None, None)])
def test_not_turns_true_and_false_and_leaves_unknown(a: Truth, b: Truth) -> None:
    assert not_(a) is b


@given(TRUTHS)
def test_de_morgan_holds(truths: list[Truth]) -> None:
    assert not_(all_(truths)) is any_(not_(t) for t in truths)
    assert not_(any_(truths)) is all_(not_(t) for t in truths)


@given(TRUTHS)
def test_all_of_nothing_is_true_and_any_of_nothing_is_false(truths: list[Truth]) -> None:
    assert all_(()) is True
    assert any_(()) is False
    assert all_([*truths, True]) is all_(truths)
    assert any_([*truths, False]) is any_(truths)


@given(TRUTHS, st.integers(1, 6))
def test_at_least_n_of_is_what_all_choices_of_n_say(truths: list[Truth], count: int) -> None:
    chosen = itertools.combinations(truths, count)
    assert at_least(count, tuple(truths)) is any_(all_(each) for each in chosen)


@given(TRUTHS, st.integers(1, 6))
def test_unknown_is_answered_only_where_the_unknowns_decide(
    truths: list[Truth], count: int
) -> None:
    ways = itertools.product(*((t,) if t is not None else (False, True) for t in truths))
    answers = {at_least(count, tuple(way)) for way in ways}
    told = at_least(count, tuple(truths))
    assert told is (answers.pop() if len(answers) == 1 else None)
