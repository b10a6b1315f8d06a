"""Generated programs: both engines, and a fixed point written out here, must say the same."""

from __future__ import annotations

import os
from collections.abc import Callable
from random import Random

import pytest
from budget import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from expert.inference import durable as durable_module
from expert.inference.engine import Engine, Firing, HornRule, Program
from expert.inference.make_engine import make_engine

Compile = Callable[[Program], Engine]
PROFILE = settings.get_profile(os.environ.get("RACKWALK_TEST_PROFILE", "ci"))
VOCABULARY = [f"{word} is {state}" for word in "abcdefghijklmnop" for state in ("low", "high", "è")]


def naive(rules: Program, facts: list[str]) -> tuple[Firing, ...]:
    """The fixed point by trying every rule until nothing changes."""
    known = set(facts)
    while True:
        fired = [rule for rule in rules if known.issuperset(rule.body)]
        grown = known.union(*(rule.head for rule in fired))
        if grown == known:
            fired.sort(key=lambda rule: rule.name)
            return tuple(Firing(rule.name, rule.body, rule.head) for rule in fired)
        known = grown


@st.composite
def programs(draw: st.DrawFn) -> tuple[list[HornRule], list[str]]:
    """Rules and facts: chains, circles, long bodies, tests that many rules share."""
    words = VOCABULARY[: draw(st.integers(1, len(VOCABULARY)))]
    fact = st.sampled_from(words)
    body = st.one_of(
        st.lists(fact, max_size=4),
        st.lists(fact, min_size=1, max_size=2),
        st.permutations(words),
    )
    rule = st.builds(
        HornRule,
        name=st.integers(0, 30).map("rule-{}".format),
        body=body.map(tuple),
        head=st.lists(fact, max_size=3).map(tuple),
    )
    rules = draw(st.lists(rule, max_size=25))
    if rules and draw(st.integers(0, 19)) == 0:
        shared = draw(st.sampled_from(rules))
        for number in range(draw(st.sampled_from([254, 255, 256, 511, 520]))):
            rules.append(HornRule(f"shared-{number}", shared.body, (draw(fact),)))
    return rules, draw(st.lists(fact, max_size=len(words)))


@PROFILE
@given(programs())
def test_durable_and_plain_agree_with_a_naive_fixed_point(
    durable: Compile, case: tuple[list[HornRule], list[str]]
) -> None:
    rules, facts = case
    expected = naive(rules, facts)
    assert make_engine(rules, "plain").run(facts) == expected
    assert durable(rules).run(facts) == expected


@PROFILE
@given(programs(), st.integers(1, 4), st.integers(2, 5), st.integers(1, 3))
def test_durable_agrees_when_its_tables_are_small_and_every_seam_is_used(
    durable: Compile,
    case: tuple[list[HornRule], list[str]],
    rulesets: int,
    joined: int,
    users: int,
) -> None:
    rules, facts = case
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(durable_module, "RULES_IN_A_RULESET", max(rulesets, len(rules) // 20))
        patched.setattr(durable_module, "JOINED_FACTS", joined)
        patched.setattr(durable_module, "USERS_OF_ONE_TEST", users)
        engine = durable(rules)
    assert engine.run(facts) == naive(rules, facts)


@PROFILE
@given(programs(), st.randoms(use_true_random=False))
def test_the_order_of_facts_and_rules_is_of_no_consequence(
    durable: Compile, case: tuple[list[HornRule], list[str]], random: Random
) -> None:
    rules = [HornRule(f"rule-{n:03}", rule.body, rule.head) for n, rule in enumerate(case[0])]
    facts = case[1]
    before = durable(rules).run(facts)
    random.shuffle(rules)
    random.shuffle(facts)
    assert durable(rules).run(facts) == before
    assert make_engine(rules, "plain").run(facts) == before


@PROFILE
@given(programs(), st.data())
def test_one_engine_answers_many_sets_of_facts(
    durable: Compile, case: tuple[list[HornRule], list[str]], data: st.DataObject
) -> None:
    rules, facts = case
    engine = durable(rules)
    for _ in range(3):
        assert engine.run(facts) == naive(rules, facts)
        facts = data.draw(st.lists(st.sampled_from(VOCABULARY), max_size=20))


@settings(PROFILE, max_examples=examples(250))
@given(programs())
def test_both_engines_agree_with_clips(
    durable: Compile, case: tuple[list[HornRule], list[str]]
) -> None:
    clips = pytest.importorskip("clips", reason="clipspy is not installed")
    rules, facts = case
    environment = clips.Environment()
    for number, rule in enumerate(rules):
        tests = "".join(f' (fact "{fact}")' for fact in rule.body)
        conclusions = "".join(f' (assert (fact "{fact}"))' for fact in rule.head)
        environment.build(f"(defrule r{number}{tests} => (assert (fired {number})){conclusions})")
    environment.reset()
    for fact in set(facts):
        environment.assert_string(f'(fact "{fact}")')
    environment.run()
    fired = {fact[0] for fact in environment.facts() if fact.template.name == "fired"}
    by_clips = sorted((rules[number] for number in sorted(fired)), key=lambda rule: rule.name)
    expected = tuple(Firing(rule.name, rule.body, rule.head) for rule in by_clips)
    assert durable(rules).run(facts) == expected
    assert make_engine(rules, "plain").run(facts) == expected
