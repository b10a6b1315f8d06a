"""A store that is asked for: every sequence of answers that is taken makes a site that is read."""

from __future__ import annotations

import pytest
from budget import examples
from hypothesis import given, settings
from hypothesis import strategies as st
from shipped_knowledge import shipped_rules

from expert.errors import ReadingError
from expert.knowledge.load_site import parse_site
from expert.sites.ask_store import DEPTHS, Terms, new_store, what_to_add
from expert.sites.data import Data, text_of
from expert.sites.questions import Ask, Questions, taken

TYPED = st.sampled_from(
    ["Oak Street", "5280", "A", "A1-A3", "R-448A", "1", "2", "hot gas", "", "12", "-8 F", "20 min",
     "yes", "B", "B1 B2", "meat", "no", "12:30", ": [", "- x", "#", "'", "1e9", "40 %", "\t"]
)  # fmt: skip


@settings(max_examples=examples(150), deadline=None)
@given(st.lists(TYPED, max_size=60), st.sampled_from(DEPTHS))
def test_whatever_is_typed_what_was_taken_makes_a_site(typed: list[str], depth: str) -> None:
    rules = shipped_rules()
    terms = Terms(rules, depth=depth)
    interview = Questions(lambda: new_store(terms))
    for text in typed:
        if interview.current is None:
            break
        try:
            interview.answer(text)
        except ReadingError as error:
            assert str(error)
    again = Questions(lambda: new_store(terms), list(interview.answers))
    assert (again.current, again.answers) == (interview.current, interview.answers) or (
        getattr(again.current, "text", "") == getattr(interview.current, "text", "")
    )
    if interview.result is not None:
        assert parse_site(text_of(interview.result), "made", rules).subjects


def answered(*answers: str, depth: str = DEPTHS[0]) -> Data:
    interview = Questions(lambda: new_store(Terms(shipped_rules(), depth=depth)))
    for text in answers:
        interview.answer(text)
    assert interview.result is not None, interview.current
    return interview.result


def test_a_store_in_a_dozen_answers() -> None:
    data = answered(
        "Oak Street", "300 m", "european union", "Rack A", "448a", "low", "hot", "A1-A2 A7",
        "frozen food doors 1-4", "2", "", "", "",
    )  # fmt: skip
    site = parse_site(text_of(data), "made", shipped_rules())
    assert list(site.subjects) == ["site", "A", "A1", "A2", "A7"]
    assert site.subjects["A2"].facts == {
        "refrigerant": "R-448A", "application": "low temperature", "defrost": "hot gas",
        "case_type": "ice cream doors", "jurisdiction": "European Union",
    }  # fmt: skip


def test_back_takes_the_last_answer_away() -> None:
    interview = Questions(lambda: new_store(Terms(shipped_rules())))
    interview.answer("Oak Street")
    asked = interview.current
    interview.answer("10 ft")
    assert interview.back()
    assert interview.current is not None and asked is not None
    assert interview.current.text == asked.text
    assert interview.answers == ["Oak Street"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("A1-A900", "no span"),
        ("A1 A1", "already"),
        ("a b/..;c\x07", "cannot be an id"),
        ("", "needed"),
    ],
)
def test_hostile_names_of_circuits_are_refused(text: str, said: str) -> None:
    data = answered("Oak Street", "0 ft", "", "A", "R-448A", "1", "", "", "")
    asking = what_to_add(Terms(shipped_rules()), data, "circuit")
    with pytest.raises(ReadingError, match=said):
        taken(next(asking), text)


def test_a_number_takes_a_choice_and_a_beginning_that_two_have_is_refused() -> None:
    ask = Ask("Which?", ("hot gas", "hot water", "off"))
    assert taken(ask, "2") == "hot water"
    with pytest.raises(ReadingError, match="none of them"):
        taken(ask, "hot")
