"""Cells agree with the judge of conditions; the solver never calls dead what can fire."""

from __future__ import annotations

import os
from itertools import count

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from expert.author.search.cells import UNKNOWN, Space
from expert.author.search.solver import Goal, Solver
from expert.author.search.witness import limits_of
from expert.errors import Place
from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Known, Reading
from expert.inference.truth import Facts
from expert.knowledge.conditions import Compare, Condition, Group, HasSign, Is, Term
from expert.knowledge.model import Rule, Rulebase
from expert.knowledge.resolve import NUMBER_STATES
from expert.knowledge.site import Subject
from expert.knowledge.source import Source
from expert.units.kinds import Kind
from expert.units.measure import Measure

NIGHTLY = os.environ.get("RACKWALK_TEST_PROFILE") == "nightly"
PROFILE = settings(
    max_examples=10_000 if NIGHTLY else 120,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
PSI = 6894.757293168
WORDS = tuple(word for word in NUMBER_STATES if word != "too close to call")
VALUES = st.sampled_from([5.0, 10.0, 12.0, 15.0, 17.0, 20.0, 25.0, 30.0, 35.0]).map(PSI.__mul__)
_numbers = count()

bands = st.builds(Is, st.just("differential"), st.sampled_from(WORDS), st.booleans())
phrases = st.builds(
    Is, st.just("valve"), st.sampled_from(["open", "shut", "half open"]), st.booleans()
)


@st.composite
def comparisons(draw: st.DrawFn) -> Compare:
    """differential against a number, either way round; the text is its own."""
    sides = ((Term(1, quantity="differential"),), (Term(1, measure="m", value=draw(VALUES)),))
    left, right = sides if draw(st.booleans()) else sides[::-1]
    operator = draw(st.sampled_from([">", ">=", "<", "<="]))
    return Compare(left, right, operator, f"comparison {next(_numbers)}")


plain = st.one_of(bands, phrases, comparisons())
signs = st.builds(HasSign, st.just("slow"), st.booleans())


def groups(members: st.SearchStrategy[Condition]) -> st.SearchStrategy[Condition]:
    listed = st.lists(members, min_size=1, max_size=3).map(tuple)
    return listed.flatmap(lambda kept: st.builds(Group, st.integers(1, len(kept)), st.just(kept)))


conditions: st.SearchStrategy[Condition] = st.one_of(plain, signs, groups(plain))
lists = st.lists(conditions, min_size=1, max_size=4).map(tuple)


def facts(base: Rulebase, circuit: Subject, value: float | None, phrase: str | None) -> Facts:
    known = {}
    if value is not None:
        measure = Measure(Kind.PRESSURE_DIFFERENCE, value)
        known["differential"] = Known(base.quantities["differential"], measure)
    if phrase is not None:
        known["valve"] = Known(base.quantities["valve"], phrase)
    return Facts(known, base.quantities, limits_of(base, circuit))


@PROFILE
@given(condition=st.one_of(bands, comparisons()), value=VALUES)
def test_a_number_is_in_a_true_cell_just_when_the_condition_holds(
    condition: Is | Compare, value: float, tiny: Rulebase, circuit: Subject
) -> None:
    rule = Rule("r", (condition,), "so", Source("from memory"))
    base = Rulebase(**{**vars(tiny), "rules": {**tiny.rules, "r": rule}})
    space = Space(base, limits_of(base, circuit))
    name, true, false = space.holds_in(condition)
    cells = [
        cell
        for cell in space.cells(name)
        if isinstance(cell, int) and _holds(value, *space.span(name, cell))
    ]
    assert len(cells) == 1
    truth = facts(base, circuit, value, None).holds(condition)
    assert (cells[0] in true, cells[0] in false) == (truth is True, truth is False)


def _holds(value: float, low: float, high: float) -> bool:
    return value == low if low == high else low < value < high


@pytest.mark.parametrize("phrase", ["open", "shut", "half open"])
@pytest.mark.parametrize("negated", [False, True])
def test_a_choice_is_in_a_true_cell_just_when_the_condition_holds(
    tiny: Rulebase, circuit: Subject, phrase: str, negated: bool
) -> None:
    condition = Is("valve", "open", negated)
    _, true, false = Space(tiny, {}).holds_in(condition)
    truth = facts(tiny, circuit, None, phrase).holds(condition)
    assert (phrase in true, phrase in false) == (truth is True, truth is False)


def test_what_is_unknown_makes_nothing_true_but_that_it_is_not_known(tiny: Rulebase) -> None:
    space = Space(tiny, {})
    for word in ("open", "known"):
        for negated in (False, True):
            _, true, _ = space.holds_in(Is("valve", word, negated))
            assert (UNKNOWN in true) == (word == "known" and negated)


@PROFILE
@given(
    when=lists,
    unless=st.lists(conditions, max_size=2).map(tuple),
    value=st.none() | VALUES,
    phrase=st.none() | st.sampled_from(["open", "shut", "half open"]),
    minutes=st.none() | st.sampled_from([5.0, 18.0, 19.0, 30.0]),
)
def test_no_rule_that_fires_is_called_dead(
    when: tuple[Condition, ...],
    unless: tuple[Condition, ...],
    value: float | None,
    phrase: str | None,
    minutes: float | None,
    tiny: Rulebase,
    circuit: Subject,
) -> None:
    rule = Rule("r", when, "so", Source("from memory"), unless, place=Place(""))
    base = Rulebase(**{**vars(tiny), "rules": {**tiny.rules, "r": rule}})
    readings = []
    if value is not None:
        measure = Measure(Kind.PRESSURE_DIFFERENCE, value, 1.4 * PSI)
        readings.append(Reading("differential", measure))
    if phrase is not None:
        readings.append(Reading("valve", phrase))
    if minutes is not None:
        readings.append(Reading("clearing_time", Measure(Kind.DURATION, minutes * 60)))
    evaluator = Evaluator(base, circuit, backend="plain")
    if "r" in evaluator.evaluate(readings).fired:
        solver = Solver(Space(base, limits_of(base, circuit)), base.rules, deep=True)
        assert next(solver.assignments([Goal(rule, "true")]), None) is not None or solver.gave_up


def test_a_search_that_becomes_too_long_is_given_up(tiny: Rulebase, circuit: Subject) -> None:
    solver = Solver(Space(tiny, limits_of(tiny, circuit)), tiny.rules, deep=True, budget=1)
    assert list(solver.assignments([Goal(tiny.rules["low-and-slow"], "true")])) == []
    assert solver.gave_up
