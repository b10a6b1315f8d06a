"""Programs beyond each table of the C module, programs of every size, and many threads."""

from __future__ import annotations

import random
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import pytest
from budget import at_night

from expert.inference import durable as durable_module
from expert.inference.engine import Engine, HornRule, Program
from expert.inference.make_engine import make_engine

Compile = Callable[[Program], Engine]


def agreed(durable: Compile, rules: Program, facts: list[str]) -> list[str]:
    """The names of the rules that fired, once both engines have said the same."""
    fired = make_engine(rules, "plain").run(facts)
    assert durable(rules).run(facts) == fired
    return [firing.rule for firing in fired]


def mixed(count: int) -> tuple[list[HornRule], list[str]]:
    """Rules on about as many states, with 1 to 4 conditions; the last third also chain."""
    source = random.Random(count)
    states = [f"q{n} is {word}" for n in range(max(count // 2, 4)) for word in ("low", "high")]
    rules = []
    for number in range(count):
        chained = [f"sign-{n}" for n in range(number)] if number > count * 2 // 3 else []
        body = source.choices(states + 2 * chained, k=source.choice([1, 2, 2, 3, 4]))
        rules.append(HornRule(f"r{number}", tuple(body), (f"sign-{number}",)))
    return rules, source.sample(states, len(states) * 3 // 4)


@pytest.mark.parametrize("count", [10, 500, pytest.param(5000, marks=at_night)])
def test_programs_of_every_size_give_the_same_firings(durable: Compile, count: int) -> None:
    rules, facts = mixed(count)
    assert len(agreed(durable, rules, facts)) > count // 8


@pytest.mark.parametrize("count", [511, 512, 513, 1100])
def test_as_many_different_facts_as_one_node_cannot_hold(durable: Compile, count: int) -> None:
    rules = [HornRule(f"r{n:04}", (f"fact {n}",), ()) for n in range(count)]
    everything = [f"fact {n}" for n in range(count)]
    assert agreed(durable, rules, everything) == [f"r{n:04}" for n in range(count)]
    assert agreed(durable, rules, everything[-1:]) == [f"r{count - 1:04}"]


@pytest.mark.parametrize("count", [255, 256, 257, 600])
def test_as_many_rules_on_one_fact_as_one_test_cannot_serve(durable: Compile, count: int) -> None:
    rules = [HornRule(f"r{n:03}", ("shared", f"own {n % 3}"), ()) for n in range(count)]
    assert agreed(durable, rules, ["shared"]) == []
    fired = agreed(durable, rules, ["shared", "own 0", "own 1", "own 2"])
    assert fired == [f"r{n:03}" for n in range(count)]


@pytest.mark.parametrize("length", [15, 16, 17, 31, 32, 33, 200])
def test_bodies_longer_than_one_join_need_every_fact(durable: Compile, length: int) -> None:
    body = tuple(f"fact {n}" for n in range(length))
    rules = [HornRule("long", body, ("done",)), HornRule("next", ("done",), ())]
    assert agreed(durable, rules, list(body)) == ["long", "next"]
    for absent in {0, length // 2, 14, length - 1}:
        assert agreed(durable, rules, [fact for fact in body if fact != body[absent]]) == []


@pytest.mark.parametrize("count", [4096, 4097])
def test_as_many_rules_as_one_ruleset_cannot_hold(durable: Compile, count: int) -> None:
    rules = [HornRule(f"r{n:04}", (f"fact {n % 50}",), ()) for n in range(count)]
    fired = agreed(durable, rules, ["fact 0", "fact 49"])
    assert fired == [f"r{n:04}" for n in range(count) if n % 50 in (0, 49)]


def test_a_chain_that_goes_back_and_forth_between_rulesets_is_followed(durable: Compile) -> None:
    length = 2500
    links = [HornRule(f"r{n:04}", (f"link {n}",), (f"link {n + 1}",)) for n in range(length)]
    random.Random(1).shuffle(links)
    assert len(agreed(durable, links, ["link 0"])) == length
    assert len(agreed(durable, links, ["link 2000"])) == 500


def test_a_circle_through_several_rulesets_is_followed_once(durable: Compile) -> None:
    length = 2200
    circle = [
        HornRule(f"r{n:04}", (f"link {n}",), (f"link {(n + 7) % length}",)) for n in range(length)
    ]
    assert len(agreed(durable, circle, ["link 5"])) == length
    assert agreed(durable, circle, []) == []


def test_more_true_facts_than_one_fact_may_have_true_tests(durable: Compile) -> None:
    rules = [HornRule(f"r{n:03}", (f"q is state {n}",), ()) for n in range(130)]
    assert len(agreed(durable, rules, [f"q is state {n}" for n in range(130)])) == 130


def test_ids_with_equal_hashes_are_passed_over(
    durable: Compile, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []

    def coarse(text: str) -> int:
        asked.append(text)
        return len(text)

    monkeypatch.setattr(durable_module, "name_hash", coarse)
    rules = [HornRule("one", ("a", "b"), ()), HornRule("other", ("c",), ())]
    assert agreed(durable, rules, ["a", "b"]) == ["one"]
    assert agreed(durable, rules, ["c"]) == ["other"]
    assert {"9", "10", "999", "1000"} <= set(asked)


def test_threads_that_share_an_engine_get_their_own_answers(durable: Compile) -> None:
    rules, facts = mixed(60)
    engine, judge = durable(rules), make_engine(rules, "plain")
    cases = [random.Random(n).sample(facts, 20) for n in range(200)]
    with ThreadPoolExecutor(4) as pool:
        answers = list(pool.map(engine.run, cases))
    assert answers == [judge.run(case) for case in cases]


def test_threads_that_compile_and_drop_engines_do_not_disturb_each_other(durable: Compile) -> None:
    rules, facts = mixed(40)
    expected = make_engine(rules, "plain").run(facts)
    with ThreadPoolExecutor(4) as pool:
        answers = list(pool.map(lambda _: durable(rules).run(facts), range(100)))
    assert answers == [expected] * 100
