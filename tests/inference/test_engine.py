"""What an engine answers, worked by hand, and which engine is taken."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

import expert
from expert.inference import durable as durable_module
from expert.inference.engine import Engine, EngineError, Firing, HornRule, Program
from expert.inference.make_engine import SMALL, make_engine

Compile = Callable[[Program], Engine]

LOW = "defrost_differential is low"
OPEN = "hot_gas_valve is open"
SLOW = "coil_clears_slowly"
ICED = "coil_is_iced"
DEFROST = [
    HornRule("low-differential-slows-clearing", (LOW, OPEN), (SLOW,)),
    HornRule("slow-clearing-leaves-ice", (SLOW,), (ICED,)),
    HornRule("ice-starves-the-fan", (ICED, "fan is running"), ("case_is_warm",)),
]


def names(engine: Engine, *facts: str) -> list[str]:
    return [firing.rule for firing in engine.run(facts)]


def test_a_rule_fires_when_all_of_its_facts_are_present(compiled: Compile) -> None:
    fired = compiled(DEFROST[:1]).run([LOW, OPEN])
    assert fired == (Firing("low-differential-slows-clearing", (LOW, OPEN), (SLOW,)),)


def test_a_rule_is_silent_when_one_of_its_facts_is_absent(compiled: Compile) -> None:
    assert compiled(DEFROST[:1]).run([LOW]) == ()


def test_conclusions_feed_other_rules(compiled: Compile) -> None:
    assert names(compiled(DEFROST), LOW, OPEN) == [
        "low-differential-slows-clearing",
        "slow-clearing-leaves-ice",
    ]


def test_a_conclusion_may_be_given_as_a_fact(compiled: Compile) -> None:
    assert names(compiled(DEFROST), SLOW) == ["slow-clearing-leaves-ice"]


def test_a_rule_fires_once_though_its_fact_is_given_and_concluded(compiled: Compile) -> None:
    fired = names(compiled(DEFROST), LOW, OPEN, SLOW, SLOW, ICED)
    assert fired == ["low-differential-slows-clearing", "slow-clearing-leaves-ice"]


def test_rules_that_support_each_other_do_not_start_by_themselves(compiled: Compile) -> None:
    circle = [HornRule("one", ("a",), ("b",)), HornRule("two", ("b",), ("a",))]
    assert names(compiled(circle)) == []


def test_rules_that_support_each_other_both_fire_once_started(compiled: Compile) -> None:
    circle = [HornRule("two", ("b",), ("a",)), HornRule("one", ("a",), ("b",))]
    assert names(compiled(circle), "b") == ["one", "two"]


def test_firings_are_sorted_by_name_and_then_by_definition(compiled: Compile) -> None:
    rules = [
        HornRule("same", ("x",), ("first",)),
        HornRule("b", ("x",), ()),
        HornRule("same", ("x",), ("second",)),
        HornRule("a", ("x",), ()),
    ]
    fired = compiled(rules).run(["x"])
    assert [(firing.rule, firing.head) for firing in fired] == [
        ("a", ()),
        ("b", ()),
        ("same", ("first",)),
        ("same", ("second",)),
    ]


def test_a_rule_without_conditions_always_fires(compiled: Compile) -> None:
    rules = [HornRule("always", (), ("x",)), HornRule("then", ("x",), ())]
    assert names(compiled(rules)) == ["always", "then"]


def test_a_fact_named_twice_in_a_body_counts_once_and_is_shown_as_written(
    compiled: Compile,
) -> None:
    assert compiled([HornRule("r", ("x", "x"), ())]).run(["x"]) == (Firing("r", ("x", "x"), ()),)


def test_a_rule_that_concludes_its_own_condition_fires_once(compiled: Compile) -> None:
    assert names(compiled([HornRule("r", ("x",), ("x",))]), "x") == ["r"]


def test_facts_that_no_rule_uses_are_ignored(compiled: Compile) -> None:
    assert names(compiled(DEFROST), "something else", ICED) == []


def test_no_rules_give_no_firings(compiled: Compile) -> None:
    assert compiled([]).run(["x"]) == ()


def test_facts_may_come_from_a_generator(compiled: Compile) -> None:
    assert len(compiled(DEFROST).run(fact for fact in (LOW, OPEN))) == 2


def test_runs_do_not_remember_each_other(compiled: Compile) -> None:
    engine = compiled(DEFROST)
    assert names(engine, LOW, OPEN)
    assert names(engine, LOW) == []
    assert names(engine, OPEN) == []


def test_engines_do_not_share_facts(compiled: Compile) -> None:
    one, other = compiled(DEFROST), compiled(DEFROST)
    assert names(one, SLOW) and names(other, ICED) == []


@pytest.mark.parametrize(
    "fact",
    ['with "quotes"', "back\\slash", "braces {}[],:", "new\nline", "\0", "", "ü °F", "\ud800", "1"],
)
def test_any_text_can_be_a_fact(compiled: Compile, fact: str) -> None:
    engine = compiled([HornRule("r", (fact,), (fact + fact,)), HornRule("s", (fact + "?",), ())])
    assert names(engine, fact) == ["r"]


def test_texts_that_the_c_module_would_confuse_are_told_apart(compiled: Compile) -> None:
    # Equal 32-bit FNV-1a hashes, and lengths that are equal in 16 bits.
    assert durable_module.name_hash("costarring") == durable_module.name_hash("liquid")
    pairs = [("costarring", "liquid"), ("a" * 65_537, "a"), ("1", "1.0")]
    for one, other in pairs:
        engine = compiled([HornRule("one", (one,), ()), HornRule("other", (other,), ())])
        assert names(engine, one) == ["one"]
        assert names(engine, other) == ["other"]


def test_one_text_in_place_of_many_facts_is_refused(compiled: Compile) -> None:
    with pytest.raises(EngineError, match="single text 'abc'"):
        compiled(DEFROST).run("abc")


@pytest.mark.parametrize("backend", ["plain", "durable", "auto"])
def test_a_body_that_is_one_text_is_refused_with_the_rule_name(backend: str) -> None:
    wrong = HornRule("low-differential", "ab", ())  # type: ignore[arg-type]
    with pytest.raises(EngineError, match="'low-differential'.*body"):
        make_engine([wrong], backend)  # type: ignore[arg-type]


def test_a_fact_that_is_not_text_is_refused_with_the_rule_name() -> None:
    wrong = HornRule("low-differential", (), (8,))  # type: ignore[arg-type]
    with pytest.raises(EngineError, match="'low-differential'.*head, 8"):
        make_engine([wrong])


def test_a_rule_without_a_name_is_refused_with_its_number() -> None:
    with pytest.raises(EngineError, match="number 2"):
        make_engine([DEFROST[0], HornRule("", (), ())])


def test_an_unknown_engine_is_refused_with_those_that_exist() -> None:
    with pytest.raises(EngineError, match="auto, durable, plain"):
        make_engine(DEFROST, "fast")  # type: ignore[arg-type]


def test_auto_takes_the_plain_chainer_for_few_rules_and_says_why() -> None:
    engine = make_engine(DEFROST)
    assert engine.describe() == f"Plain forward chainer, 3 rules (quicker up to {SMALL} rules)."


def test_auto_takes_durable_rules_where_it_is_present(durable: Compile, none_small: None) -> None:
    engine = make_engine(DEFROST)
    assert engine.name == "durable"
    assert engine.describe() == "durable_rules, 3 rules (the default)."


def test_auto_takes_the_plain_chainer_where_durable_rules_is_missing(
    monkeypatch: pytest.MonkeyPatch, none_small: None
) -> None:
    monkeypatch.setitem(sys.modules, "durable_rules_engine", None)
    engine = make_engine(DEFROST)
    assert engine.name == "plain"
    assert "3 rules (durable_rules cannot be imported: " in engine.describe()
    assert names(engine, SLOW) == ["slow-clearing-leaves-ice"]


def test_durable_asked_for_by_name_is_an_error_where_it_is_missing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setitem(sys.modules, "durable_rules_engine", None)
    with pytest.raises(EngineError, match="cannot be imported"):
        make_engine(DEFROST, "durable")


def test_auto_takes_the_plain_chainer_for_rules_that_take_too_much_memory(
    durable: Compile, monkeypatch: pytest.MonkeyPatch, none_small: None
) -> None:
    monkeypatch.setattr(durable_module, "JOINS_IN_ALL", 4)
    engine = make_engine(DEFROST)
    assert engine.name == "plain"
    assert "join 5 facts in 3 rules" in engine.describe()
    with pytest.raises(EngineError, match="'low-differential-slows-clearing'"):
        make_engine(DEFROST, "durable")


def test_the_plain_chainer_says_that_it_was_asked_for() -> None:
    described = make_engine(DEFROST, "plain").describe()
    assert described == "Plain forward chainer, 3 rules (asked for)."


def test_importing_the_engine_does_not_load_durable_rules() -> None:
    code = (
        "import sys, expert.inference.engine, expert.inference.durable;"
        "sys.exit('durable_rules_engine' in sys.modules)"
    )
    root = Path(expert.__file__).parents[1]
    assert subprocess.run([sys.executable, "-c", code], cwd=root, check=False).returncode == 0
