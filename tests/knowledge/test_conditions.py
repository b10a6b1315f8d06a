"""A condition means what it says, and a wrong one is refused at the word that does not fit."""

from __future__ import annotations

import pytest
from budget import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from expert.errors import Place
from expert.knowledge.conditions import (
    Compare,
    Condition,
    Course,
    Group,
    HasSign,
    InStage,
    Is,
    Over,
    everywhere,
    parts,
    quantities_in,
    signs_in,
)
from expert.knowledge.grammar import ConditionError, at_once, by_grammar, parse_condition
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Fields, Items, parse_yaml

HERE = Place("f.yaml", 1, 1)


def parsed(text: str) -> Condition:
    return parse_condition(text, HERE)


def read(text: str) -> tuple[tuple[Condition, ...], Reader]:
    reader = Reader()
    node = parse_yaml(text, "f.yaml")
    assert isinstance(node, Items | Fields)
    return reader.conditions(node, "when"), reader


@pytest.mark.parametrize(
    ("text", "condition"),
    [
        ("a is low", Is("a", "low", False, HERE)),
        ("a is not low", Is("a", "low", True, HERE)),
        ("a is very  low", Is("a", "very low", False, HERE)),
        ("a is too close to call", Is("a", "too close to call", False, HERE)),
        ("a is not known", Is("a", "known", True, HERE)),
        ("a is half open", Is("a", "half open", False, HERE)),
        ("a is 50/50", Is("a", "50/50", False, HERE)),
        ("slow", HasSign("slow", False, HERE)),
        ("not slow", HasSign("slow", True, HERE)),
        ("nothing", HasSign("nothing", False, HERE)),
        ("is_open", HasSign("is_open", False, HERE)),
        ("not_open is yes", Is("not_open", "yes", False, HERE)),
    ],
)
def test_a_state_a_choice_or_a_sign_is_read(text: str, condition: Condition) -> None:
    assert parsed(text) == condition


@pytest.mark.parametrize(
    ("text", "terms", "operator"),
    [
        ("a > b", [(1, "a"), (-1, "b")], ">"),
        ("a >= b + 3 psi", [(1, "a"), (-1, "b"), (-1, "3 psi")], ">="),
        ("a < b - 3 psi", [(1, "a"), (-1, "b"), (1, "3 psi")], "<"),
        ("a - b <= 3 psi", [(1, "a"), (-1, "b"), (-1, "3 psi")], "<="),
        ("a > -5 F", [(1, "a"), (-1, "-5 F")], ">"),
        ("a > - 5 F", [(1, "a"), (-1, "-5 F")], ">"),
        ("a>3psi", [(1, "a"), (-1, "3psi")], ">"),
        ("- a < b", [(-1, "a"), (-1, "b")], "<"),
        ("a > 15 inHg vac", [(1, "a"), (-1, "15 inHg vac")], ">"),
        ("3  psi   <  a", [(1, "3 psi"), (-1, "a")], "<"),
    ],
)
def test_a_comparison_is_brought_to_one_side(
    text: str, terms: list[tuple[int, str]], operator: str
) -> None:
    compare = parsed(text)
    assert isinstance(compare, Compare)
    assert [(term.factor, str(term)) for term in compare.terms] == terms
    assert compare.operator == operator


@pytest.mark.parametrize(
    ("text", "column", "says"),
    [
        ("", 1, "too early"),
        ("   ", 1, "too early"),
        ("a is", 4, "too early"),
        ("a is ", 4, "too early"),
        ("a >", 3, "too early"),
        ("a > b +", 7, "too early"),
        ("a reaches", 9, "too early"),
        ("A is low", 1, "'A'"),
        ("a == b", 3, "'=='"),
        ("a > b > c", 7, "'>'"),
        ("a is not not low", 10, "'not'"),
        ("not a is low", 7, "'is'"),
        ("a > 12:30", 7, "':30'"),
        ("a   ==  b", 5, "'=='"),
        ("  a == b", 5, "'=='"),
        ("a-b is low", 2, "'-b'"),
        ("a rises by by 5 F", 12, "'by'"),
        ("a is low;", 9, "';'"),
    ],
)
def test_a_wrong_condition_is_refused_at_the_word_that_does_not_fit(
    text: str, column: int, says: str
) -> None:
    with pytest.raises(ConditionError) as refused:
        parsed(text)
    assert refused.value.column == column
    assert says in str(refused.value)


@given(st.text("ab_<>=+-. 0123isnotlowerisebyF%\n\"'é", max_size=30))
@settings(max_examples=examples(500), deadline=None)
def test_no_text_ends_in_anything_but_a_condition_or_a_refusal_with_a_column(text: str) -> None:
    try:
        parsed(text)
    except ConditionError as refused:
        assert 1 <= refused.column <= max(len(text), 1)


@given(st.text("ab is not low > + 3 psi", min_size=1, max_size=25))
@settings(max_examples=examples(300), deadline=None)
def test_what_a_condition_is_called_reads_as_the_same_condition(text: str) -> None:
    try:
        condition = parsed(text)
    except ConditionError:
        return
    assert parsed(str(condition)) == condition


@pytest.mark.parametrize(
    ("text", "column"),
    [
        ("- a == b", 5),
        ("- 'a == b'", 6),
        ('- "a == b"', 6),
        ("- any: [a is low, a == b]", 21),
        ("- a   == b", 7),
    ],
)
def test_a_refusal_stands_at_its_column_of_the_file(text: str, column: int) -> None:
    _, reader = read(text)
    (problem,) = reader.problems
    assert problem.place == Place("f.yaml", 1, column)


def test_a_refusal_in_a_text_over_several_lines_stands_at_its_beginning() -> None:
    _, reader = read("- >\n  a is low and\n  == b\n- x ==\n  y\n")
    assert [problem.place.line for problem in reader.problems] == [1, 4]
    assert reader.problems[1].place.column == 3


def test_groups_are_read_inside_one_another() -> None:
    conditions, reader = read("- any: [a, all: [b, c is low], at least 2 of: [d, e, f]]")
    assert not reader.problems
    (group,) = conditions
    assert isinstance(group, Group)
    assert [str(part) for part in parts(group)] == ["a", "b", "c is low", "d", "e", "f"]
    assert group.at_least == 1
    assert [m.at_least for m in group.members if isinstance(m, Group)] == [2, 2]


def test_stages_and_counts_over_subjects_are_read() -> None:
    conditions, reader = read(
        "- as found: [a is low]\n- most circuits: [b is high]\n- at least 2 cases: [c is low]\n"
    )
    assert not reader.problems
    assert [type(condition) for condition in conditions] == [InStage, Over, Over]
    assert [str(part) for part in everywhere(conditions[1])][1:] == ["b is high"]


@pytest.mark.parametrize(
    ("text", "code", "says"),
    [
        ("- valve: open", "unknown-group", "Write 'valve is open'"),
        ("- either: [a, b]", "unknown-group", "Groups are"),
        ("- any: []", "empty-group", "no condition under 'any:'"),
        ("- any: a", "not-a-list", "must be a list"),
        ("- any:", "not-a-list", "must be a list"),
        ("- at least 3 of: [a, b]", "empty-group", "asks for 3 of 2"),
        ("- at least 0 of: [a, b]", "empty-group", "asks for 0 of 2"),
        ("- at least 0 circuits: [a is low]", "empty-group", "asks for nothing"),
        ("- {any: [a], all: [b]}", "condition", "one group"),
        ("- [a, b]", "condition", "one group"),
        ("-", "condition", "too early"),
        ("any: [a]", "not-a-list", "must be a list"),
    ],
)
def test_a_wrong_group_is_refused_once_and_says_what_is_meant(
    text: str, code: str, says: str
) -> None:
    _, reader = read(text)
    (problem,) = reader.problems
    assert problem.code == code
    assert says in f"{problem.message} {problem.hint}"
    assert problem.place.line == 1


def test_a_wrong_member_does_not_also_make_its_group_wrong() -> None:
    _, reader = read("- at least 2 of: [a is low, b ==]")
    assert [problem.code for problem in reader.problems] == ["condition"]


def test_quantities_and_signs_are_found_in_order_and_once() -> None:
    (group,), _ = read("- any: [b is low, a > b + 3 psi, slow, not slow]")
    assert quantities_in(group) == ("b", "a")
    assert signs_in(group) == ("slow", "slow")


@pytest.mark.parametrize(
    ("text", "verb", "amount", "time"),
    [
        ("a rises by 10 F within 5 min", "rises", "10 F", "5 min"),
        ("a falls", "falls", "", ""),
        ("a reaches 50 F before 20 min", "reaches", "50 F", "20 min"),
        ("a holds within 2 psi for 10 min", "holds", "2 psi", "10 min"),
    ],
)
def test_a_course_over_time_is_read(text: str, verb: str, amount: str, time: str) -> None:
    course = parsed(text)
    assert isinstance(course, Course)
    assert (course.verb, course.amount, course.time) == (verb, amount, time)


CONDITION_WORDS = (
    "a", "b_2", "is", "not", "low", "too close to call", "no doors", ">", "<=", "+", "-", "-4 F",
    "3", "3 psi", "4.5 psig gauge", "10 F", "6 min", "rises", "falls", "by", "within", "before",
    "for", "reaches", "becomes", "holds", "known",
)  # fmt: skip


@settings(max_examples=examples(6000))
@given(st.lists(st.sampled_from(CONDITION_WORDS), min_size=1, max_size=7))
def test_what_is_read_without_the_grammar_is_what_the_grammar_reads(words: list[str]) -> None:
    line = " ".join(words)
    if (found := at_once(line, HERE)) is not None:
        assert found == by_grammar(line, HERE)


@pytest.mark.parametrize(
    "line",
    [
        "a is low", "a is not no doors", "not a", "a", "a > b + 3 psi", "a < b - 1.5 F", "a > -4 F",
        "a >= b", "a falls by 6 F within 15 min", "a is is", "a is not", "a is low-high",
    ],
)  # fmt: skip
def test_the_usual_forms_need_no_grammar(line: str) -> None:
    assert at_once(line, HERE) == by_grammar(line, HERE) is not None


@pytest.mark.parametrize("line", ["a b", "a is", "a > ", "a + b > c", "is low", "a is not not b"])
def test_all_else_is_left_to_the_grammar(line: str) -> None:
    assert at_once(line, HERE) is None
