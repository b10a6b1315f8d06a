"""After an edit only what it can reach is read and run again; it comes to the same as all of it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from tiny_rulebase import TINY

from expert.author.rule_tests import run_rule_tests
from expert.author.scenarios.run_rule_tests import RuleTestRunner, change_between
from expert.author.search.rule_closure import RuleClosure
from expert.errors import PackError
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.memory import Memory
from expert.knowledge.model import Rulebase

LoadTiny = Callable[..., Rulebase]
EDITS = [
    ("clearing_time is high", "clearing_time is low"),  # a rule that another waits for
    ("[differential is low, slow]", "[differential is low]"),
    ("{differential: 8 psi, slow: yes}, expect: fires", "{differential: 8 psi}, expect: fires"),
    ("{set-low: weak}", "{set-low: strong}"),  # what others find
    ("normal: at most 18 min", "normal: at most 30 min"),  # a limit in another file
    ("normal: 15 to 20 psi", "normal: 12 to 20 psi"),
    ("strengths: {weak: 0.3", "strengths: {weak: 0.2"),
    ("accuracy: 1.4 psi", "accuracy: 3 psi"),
    ("  - id: slow-by-the-clock", "  # a line more\n  - id: slow-by-the-clock"),
    ("because: It took too long.", "because: It took long."),
]
FINDS = "{rise: 2 F, slow: yes}, expect: fires"
ASKS = "{differential: 8 psi, rise: 2 F, slow: yes}, expect: fires, finds: {set-low: likely}"


def write(folder: Path, text: str) -> Path:
    """The tiny rulebase in two files: its rules, and all else."""
    folder.mkdir(exist_ok=True)
    above, _, rules = text.partition("rules:\n")
    rules, _, cautions = rules.partition("cautions:\n")
    (folder / "all.yaml").write_text(f"{above}cautions:\n{cautions}", encoding="utf-8")
    (folder / "rules.yaml").write_text(f"rules:\n{rules}", encoding="utf-8")
    return folder


def test_edits_in_any_order_come_to_what_a_fresh_start_comes_to(tmp_path: Path) -> None:
    base = TINY.replace(FINDS, ASKS)
    assert base != TINY
    memory, runner = Memory(), RuleTestRunner()
    for text in (base, *(base.replace(*edit) for edit in EDITS), base):
        folder = write(tmp_path / "rules", text)
        read = load_rulebase(folder, memory)
        assert read == load_rulebase(folder)
        assert runner.run(read) == run_rule_tests(read, "plain")


def test_an_edit_leaves_the_other_rules_the_very_same(tmp_path: Path) -> None:
    memory = Memory()
    before = load_rulebase(write(tmp_path / "rules", TINY), memory)
    after = load_rulebase(write(tmp_path / "rules", TINY), memory)
    assert all(after.rules[name] is rule for name, rule in before.rules.items())


def test_what_is_wrong_is_told_as_often_as_it_is_read(tmp_path: Path) -> None:
    memory = Memory()
    wrong = TINY.replace("[differential is low, slow]", "[differential is lo, slow]")
    told = []
    for text in (TINY, wrong, wrong):
        try:
            load_rulebase(write(tmp_path / "rules", text), memory)
        except PackError as error:
            told.append(str(error))
    assert len(told) == 2
    assert told[0] == told[1]
    assert load_rulebase(write(tmp_path / "rules", TINY), memory) == load_rulebase(
        tmp_path / "rules"
    )


def test_a_name_that_goes_is_missed_where_it_is_used(tmp_path: Path) -> None:
    memory = Memory()
    load_rulebase(write(tmp_path / "rules", TINY), memory)
    text = TINY.replace("{id: valve, ", "{id: other_valve, ")
    with pytest.raises(PackError, match="'valve'"):
        load_rulebase(write(tmp_path / "rules", text), memory)


@pytest.mark.parametrize(
    ("edit", "rules", "causes"),
    [
        (EDITS[0], {"slow-by-the-clock", "low-and-slow", "cold-line"}, {"set-low", "left-iced"}),
        (EDITS[1], {"low-and-slow"}, {"set-low"}),
        (EDITS[3], {"cold-line"}, {"set-low", "left-iced"}),
        (EDITS[5], {"slow-by-the-clock", "low-and-slow", "cold-line"}, set()),  # all of it
        (EDITS[9], {"slow-by-the-clock"}, set()),  # it fires as before
    ],
)
def test_what_an_edit_changes(
    load_tiny: LoadTiny, edit: tuple[str, str], rules: set[str], causes: set[str]
) -> None:
    before, after = load_tiny(FINDS, ASKS), load_tiny(FINDS, ASKS, *edit)
    change = change_between(RuleClosure(before), RuleClosure(after))
    assert (change.rules, change.causes) == (rules, causes)


def test_what_only_stands_elsewhere_is_not_run_again(tmp_path: Path) -> None:
    before = load_rulebase(write(tmp_path / "before", TINY))
    after = load_rulebase(write(tmp_path / "after", TINY.replace(*EDITS[8])))
    assert before.rules["cold-line"].place.line < after.rules["cold-line"].place.line
