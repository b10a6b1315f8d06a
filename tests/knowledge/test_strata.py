"""Rules that need the absence of a sign come after every rule that could conclude it."""

from __future__ import annotations

from budget import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from expert.knowledge.conditions import Condition, Group, HasSign, Is
from expert.knowledge.model import Rule
from expert.knowledge.source import Source
from expert.knowledge.strata import sign_cycle, strata

MEMORY = Source("from memory")


def rule(
    name: str, *when: Condition, unless: tuple[Condition, ...] = (), concludes: tuple[str, ...] = ()
) -> Rule:
    return Rule(name, when, "because", MEMORY, unless=unless, concludes=concludes)


def levels(*rules: Rule) -> dict[str, int]:
    return strata({each.id: each for each in rules})


LOW = Is("a", "low")


def test_rules_that_only_look_at_readings_are_in_the_first_stratum() -> None:
    assert levels(rule("one", LOW), rule("two", LOW, unless=(LOW,))) == {"one": 0, "two": 0}


def test_a_sign_is_used_in_the_stratum_in_which_it_is_concluded() -> None:
    first = rule("first", LOW, concludes=("s",))
    assert levels(rule("second", HasSign("s")), first) == {"first": 0, "second": 0}


def test_the_absence_of_a_sign_is_asked_one_stratum_later() -> None:
    first = rule("first", LOW, concludes=("s",))
    assert levels(first, rule("second", HasSign("s", negated=True)))["second"] == 1


def test_an_exception_is_asked_one_stratum_later_even_inside_a_group() -> None:
    first = rule("first", LOW, concludes=("s",))
    group = Group(1, (LOW, HasSign("s")))
    assert levels(first, rule("second", LOW, unless=(group,)))["second"] == 1


def test_a_sign_needed_both_ways_counts_as_needed_absent() -> None:
    both = rule("both", Group(1, (HasSign("s"), HasSign("s", negated=True))))
    assert both.needed_signs == {"s": True}


def test_a_sign_nobody_concludes_waits_for_nothing() -> None:
    assert levels(rule("one", HasSign("s", negated=True))) == {"one": 0}


def test_a_circle_is_told_in_the_order_in_which_the_rules_wait() -> None:
    rules = [
        rule("one", HasSign("b"), concludes=("a",)),
        rule("two", LOW, unless=(HasSign("a"),), concludes=("b",)),
        rule("three", LOW),
    ]
    assert set(sign_cycle(rules)) == {"one", "two"}


def test_a_rule_may_not_wait_for_itself() -> None:
    assert sign_cycle([rule("one", HasSign("a"), concludes=("a",))]) == ("one",)


SIGNS = "abcdef"


@st.composite
def acyclic(draw: st.DrawFn) -> list[Rule]:
    """Rules that look only at signs earlier in the alphabet than what they conclude."""
    rules = []
    for number in range(draw(st.integers(1, 12))):
        top = draw(st.integers(0, len(SIGNS) - 1))
        lower = st.sampled_from(SIGNS[:top]) if top else st.nothing()
        looks = st.builds(HasSign, lower, st.booleans()) if top else st.just(LOW)
        when = tuple(draw(st.lists(looks, min_size=1, max_size=3)))
        unless = tuple(draw(st.lists(looks, max_size=2)))
        rules.append(rule(f"r{number}", *when, unless=unless, concludes=(SIGNS[top],)))
    return draw(st.permutations(rules))


@given(acyclic())
@settings(max_examples=examples(200), deadline=None)
def test_every_rule_stands_above_what_settles_the_signs_it_needs(rules: list[Rule]) -> None:
    assert sign_cycle(rules) == ()
    level = levels(*rules)
    for each in rules:
        for sign, absent in each.needed_signs.items():
            for other in rules:
                if sign in other.concludes:
                    assert level[each.id] >= level[other.id] + int(absent)
